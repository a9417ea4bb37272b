// No sweeps are reduced in this book. `cargo book build` puts the module that does it in this
// file's place where a compiler for the web is there; see src/web in the folder of the book.
