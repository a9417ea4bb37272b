//! The simulator's tests in one program: linking the engine in once is enough.

mod face;
mod pixels;
mod progress;
mod quiet;
mod screen;
mod settings;
