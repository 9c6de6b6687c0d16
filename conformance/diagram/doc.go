// Package diagram draws what signals do over time as SVG, for pages that a person looks at: lanes over one time axis, with inputs and
// other instants marked. Package timing draws the same as text, and its lanes are drawn here.
//
// A drawing needs no script and nothing from outside: it is well-formed XML, and as such also a part of an HTML page, whose style sheet
// holds [Style] once. Lengths are in pixels of a drawing [Width] wide; pages may scale it.
package diagram
