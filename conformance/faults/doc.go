// Package faults is a catalogue of seeded faults: single mistakes that writers of heating firmware make, each in their words and
// as a small change of rule.
//
// A faulty unit is the emulator with something put round it, never a copy of its code: [hooks] change the design, the inputs,
// the facts after an input or after time has passed, or what is shown. What cannot be said so is not in the catalogue.
package faults
