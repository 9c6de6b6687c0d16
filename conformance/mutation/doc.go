// Package mutation asks how good the test vectors are: it makes small mistakes in the source of the sample unit, one at a time,
// builds each, and puts it to the vectors. A mistake that no vector catches shows a vector that is missing, or a mutant that
// behaves as the unit does.
//
// The mistakes are the usual mutation operators, made by rule and not by choice. This complements the wrong builds of the sample,
// which are mistakes that people make.
package mutation
