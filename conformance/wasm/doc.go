// Package wasm drives an implementation under test that is a WebAssembly module: firmware built for wasm32, which needs no
// process, no link and no operating system, and can be put back into any state that it was in. What such a module exports is in
// vectors/ADAPTER.md.
//
// A module is not trusted. It gets nothing to import, so much memory and so much time; whatever it does wrong is a trouble of the
// script under way, and the scripts after it get a fresh instance.
package wasm
