//! A first design by question and answer: what is asked, and the design that the answers make.
//!
//! ```text
//! question   what is asked, in words, and help
//! answers    what was answered; what Enter and "don't know" stand for
//! compass    points of the compass
//! compose    answers -> the text of a design; whether an answer will do
//! ```
//!
//! Nothing here reads or prints: the command line asks (`stilldays new --ask`).

mod answers;
mod compass;
mod compose;
mod question;
#[cfg(test)]
mod tests;

pub use answers::{Answer, Answers};
pub use question::Question;
