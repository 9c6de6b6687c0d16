// Package iut drives implementations under test: the emulator in this process, or whatever speaks the adapter protocol of
// vectors/ADAPTER.md at the other end of a link, such as a child process or a board.
//
// A bench hands an [IUT] scripts, each a list of requests that begins with New, and gets an [Observation] of each: the
// answers, the changes of the signals, and, where the implementation broke the protocol, the [Trouble].
package iut
