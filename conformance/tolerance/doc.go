// Package tolerance knows what the tolerances of an ICS allow: which change may come how far from its second, and which observed
// changes can be the expected ones. Whatever judges a unit judges it by these rules: see "The ICS" in vectors/BEHAVIOUR.md.
package tolerance
