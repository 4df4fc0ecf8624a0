//! Every key a design file may hold: one row each. Reading, range checks, "did you mean", the warning of keys
//! without effect and the reference page all come from this table.
//!
//! Words that a key may hold are in [`words`]. Numbers of defaults that follow from other keys are in `rules` and
//! `parts::chemistry`; all other defaults stand here and nowhere else.

mod care;
mod key;
mod machine;
mod panel;
mod place;
mod power;
mod running;
mod table;
pub(in crate::design) mod words;

pub(in crate::design) use key::{Allowed, Fallback, Key, Kind, Only};
pub(in crate::design) use table::{TABLES, all, key};
