// Package fsm is the theory of testing finite-state machines, as far as this project uses it: complete, deterministic Mealy
// machines over small alphabets, and test suites that are complete for a stated class of faults. It knows nothing of heating.
//
// A [Machine] comes from a table ([New]), from a list of transitions ([Build]), or from exploring a black box whose state can
// be keyed ([Explore]). [Machine.Minimal] merges equivalent states. [Analyse] then finds, for a minimal machine, the shortest
// input sequences that tell states apart, a characterization set W, and harmonized state identifiers; from these,
// [Analysis.WMethod] and [Analysis.HSIMethod] make a [Suite].
//
// # What a suite guarantees
//
// Let the specification be a minimal machine of n states, and let a suite have been made with m extra states. Assume of the
// implementation that
//
//   - before every sequence of the suite, reset brings it to the same initial state (reset works);
//   - it is deterministic, and answers every input of the specification's alphabet in every state (it is complete);
//   - over that alphabet, at most n+m of its states can be told apart by their behaviour and reached from reset.
//
// Then it answers every sequence of the suite as the specification does if, and only if, it answers every input sequence
// whatsoever as the specification does. Its outputs need not be those of the specification's alphabet. Nothing follows where
// an assumption fails: an implementation with more states than that may pass and yet be wrong, and so may one whose faults
// depend on inputs outside the alphabet or on time that no input stands for.
//
// Sources: T. S. Chow, "Testing Software Design Modeled by Finite-State Machines", IEEE Transactions on Software Engineering
// SE-4(3), 1978, for the W-method; D. Lee and M. Yannakakis, "Principles and Methods of Testing Finite State Machines: A
// Survey", Proceedings of the IEEE 84(8), 1996, for it and for distinguishing and UIO sequences; for harmonized identifiers,
// from memory, A. Petrenko, N. Yevtushenko and others, 1991 to 1993, and G. Luo, A. Petrenko and G. v. Bochmann, 1994.
//
// # Order
//
// Inputs are ordered as the machine lists them. Where several sequences would serve, the shortest is taken, and among the
// shortest the first in the order of the inputs. Lists of sequences stand in the same order. No result depends on the
// iteration of a map or on chance: the same machine gives the same suite.
//
// A Machine, an Analysis and a Suite do not change once made and may be used by several goroutines at once.
package fsm
