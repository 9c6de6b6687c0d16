// Package replaypage shows a complaint, replayed and diagnosed, as one HTML page that needs nothing beside it: it works from a file, in
// light and dark, by keyboard and on paper. What has to do with safety comes first.
//
// The page tells what [replay.Report] and [diagnosis.Result] say, and derives nothing of its own.
package replaypage
