// Package plant is the installation around a programmer: supplies, terminals, thermostats, valves, pump and boiler, and what a
// household senses of them. It turns two relays into a flame, warm radiators and hot water, and keeps the reason of every change.
//
// A Plant is given the relays and the supplies (Plant.Set) and time (Plant.Advance), and reports every change of its points. It is
// pure and deterministic: no I/O, no wall clock, no randomness, no allocation per step; a Plant is a plain value, so a copy of it is
// a snapshot. Time is jumped, never ticked. All temperatures are reckoned in whole numbers, so that every machine reports the same
// seconds.
//
// The electrical side is a small undirected graph: terminals joined by conductors, which never move, and by contacts, which open and
// close. A terminal is live if a supply reaches it. Nothing else decides what runs; back-feeds through a wrong wire fall out of it.
//
// The plants are generic: no maker's valves, terminals, colours or plans. What is simplified is said where it is (Plan, Practice,
// Plant). The model is for finding out why a house is cold. It is no wiring instruction: work on mains wiring is isolated and proved
// dead first and is for competent persons, gas work is for registered ones, and local codes rule.
package plant
