// Package document reads YAML files that people write and checks them against a JSON Schema, so that everything that is wrong with one
// is told with its line and column and with what to do.
//
// A file is one document made of mappings with plain keys, lists and scalars. Of scalars without quotes, decimal integers are numbers,
// true and false are booleans, and everything else is text: 5/2, 0123 and 06:30 among it. Anchors, aliases and tags have no place.
package document
