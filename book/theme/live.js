// Nothing is live in this book. `cargo book build` puts the module of live pages in this file's
// place where a compiler for the web is there; see src/web in the folder of the book.
