//! A design file laid open: values by key, each checked by itself against its row of the key table.
//!
//! Every problem is noted and reading goes on, so that all problems of a file are shown at once. [`lookup`] finds values
//! and notes problems, [`quantity`] reads values with units, [`other`] all else. How the values of a table go together
//! is checked in `tables`.

mod lookup;
mod other;
mod quantity;

pub(in crate::design) use lookup::DesignReader;
pub use lookup::Input;
