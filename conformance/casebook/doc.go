// Package casebook makes up complaints, and measures with them how good a diagnosis is.
//
// New draws a house by a seed: an installation, a unit, settings, what the household wishes. It draws what is the matter from a list of
// its own (see ails.go: what goes wrong in houses, with rates that are common practice, no source), makes the world in which that is so,
// lets package replay live through it, and writes down what a householder and an integrator would: settings that were read or only said,
// what they remember having done, and some of what they sensed, blurred in time. One of the statements may be false; two things may be
// the matter at once.
//
// Two things are made the matter only where both show, and where no one thing on the list, befalling the same house in a hundred ways, would
// explain all but one statement of the account: of others nobody could say that there are two, and a diagnosis that names the one thing which
// explains it all is right by what was said. What is wanted of both channels is then told as well, since a photograph of a wrong setting tells nothing
// without it.
//
// The list knows nothing of the diagnosis's hypotheses. How usual the diagnosis takes each to be was levelled out on cases with seeds from
// 60 000 up, which are not those that are reported; so its rates are not independent of the list's. Some of what is on it no diagnosis of a
// programmer can name (air in the radiators, a mixing valve, a boiler that goes out now and then): there 'none of these' is the right answer.
//
// Measure puts such cases to package diagnosis. What counts as right is said at [Truth.Is]. The table of all figures is
//
//	go test ./conformance/casebook -run TestBenchmark -cases 1000 -v -timeout 60m
//
// with -seed for other cases, -misses to list what the first set lacked, and one case's complaint, to be replayed, with
//
//	go test ./conformance/casebook -run TestShow -show SEED -v
package casebook
