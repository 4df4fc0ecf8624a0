//! Design files: one build at one place, read, checked, and turned into numbers.
//!
//! [`read`] checks each value of a file against its row of the key table (`keys`, by `reader`), then the values of a
//! table against one another (`tables`), and reports all problems of the file at once. `Design<Uncertain>` is what the
//! file says; [`Design::draw`] turns it into one unit built from one draw of its parts, a `Design<f64>`. The key of a
//! quantity is its path in the file (`battery.capacity`).
//!
//! Changed designs are made in `patch`, shelves of parts are in [`shelf`]. What the parts do is in `plant`.
//!
//! ```text
//! parts      types of the tables of a design; what a battery's chemistry implies
//! label      what a panel's label can say, and what of it belongs together
//! whole      the design with all its parts; one unit drawn from it
//! rules      numbers behind defaults that follow from other keys
//! keys       every key: what may be written, its default, its meaning; the words of closed lists
//! values     values as they stand in a TOML file; similar words
//! reader     a file laid open: values by key, each checked by itself; problems
//! tables     each table: values checked against one another, defaults that follow
//! known      keys that are unknown or have no effect
//! remedy     named changes
//! fit        whether the parts of a build work together
//! learned    equally likely units learned from a logbook
//! file       the design of a file: all of the above, in order
//! with_units designs whose parts are drawn from learned units
//! numeric    which keys hold a quantity
//! patch      changed designs
//! read       a whole file: its design, and each remedy tried
//! cautions   what its builder must take care of
//! shelf      parts that can be bought, and the builds that they make
//! reference  the page of all keys
//! starter    the design that `stilldays new` writes
//! interview  the design that questions and answers make
//! ```
//!
//! A folder or file uses only those above it in this list.

mod cautions;
mod file;
mod fit;
mod keys;
mod known;
mod label;
mod learned;
mod numeric;
mod other_kind;
mod parts;
mod patch;
mod read;
mod reader;
mod reference;
mod remedy;
mod rules;
mod starter;
mod tables;
mod values;
mod whole;
mod with_units;

pub mod interview;
pub mod shelf;

pub use cautions::{cautions, general_cautions};
pub use file::{DesignFile, SIZE_MAX};
pub use fit::{Misfit, Rule, misfit};
pub use label::Ideal;
pub use learned::{LearnedUnits, UNITS_MAX};
pub use numeric::{Numeric, numeric};
pub(crate) use other_kind::OtherKind;
pub use parts::*;
pub use patch::dimension_of;
pub use read::{parse, read, read_open};
pub use reader::Input;
pub use reference::{explain, reference};
pub use remedy::{Change, Remedy};
pub use starter::starter;
pub(crate) use values::nearest as nearest_word;
pub use whole::Design;

#[cfg(test)]
mod tests;
