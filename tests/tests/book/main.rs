//! The book as it is built, and what it says of itself.

mod book_change;
mod book_errors;
mod book_follows;
mod book_guides;
mod book_look_ups;
mod book_pages;
mod book_scenario;
mod book_sentences;
mod book_talks;
mod book_trust;
mod book_values;
