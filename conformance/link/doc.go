// Package link opens links to implementations that run on hardware of their own: a board on a serial port, or anything that
// listens on a TCP port. [iut.Open] drives them.
//
// Such an implementation is not started by the bench. It may be booting, or busy with what an earlier run has left, or away
// for a moment: the options that the functions return make the bench wait for it, and skip what is no answer.
//
// The protocol has no checksum. A byte that is lost or doubled mostly breaks a line, which is trouble and no verdict, but a
// digit of a number may go unnoticed and make a unit fail that is right. Where there is trouble now and then, mend the line first.
package link
