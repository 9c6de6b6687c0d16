// Package recording reads what a logic analyser or a data logger recorded of things that are on or off: a VCD file, or a CSV file with a
// time in its first column. Contact bounce is taken out as a file is read, and no more is kept of it than the edges of the columns picked.
//
// What the levels mean, and when they should have come, is for the caller to say.
package recording
