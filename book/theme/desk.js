// No trays are made in this book. `cargo book build` puts the module that makes and grades them in
// this file's place where a compiler for the web is there; see src/web in the folder of the book.
