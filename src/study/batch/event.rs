//! What happens while a batch works, as told to [`super::Batch::on_event`].

use super::batch_summary::DesignRow;
use super::find::PassedOver;
use crate::source::Problems;

/// Something that happened.
#[derive(Debug)]
pub enum Event<'e> {
    /// A file was not taken for a design.
    PassedOver(&'e PassedOver),
    /// A design was refused.
    Refused {
        /// The design.
        file: &'e str,
        /// Why, with paths as they can be opened.
        problems: &'e Problems,
    },
    /// All designs were looked at; now comes the work.
    Looked {
        /// Designs to be done, finished before, refused.
        to_do: usize,
        /// Finished before.
        finished: usize,
        /// Refused.
        refused: usize,
        /// Trials to be done at most, all designs together.
        trials: u64,
    },
    /// Work on a design begins.
    Begun {
        /// The design.
        file: &'e str,
        /// Trials it will have, at most.
        trials: u64,
        /// Trials done before.
        done: u64,
    },
    /// Something of a design worth knowing.
    Noted {
        /// The design.
        file: &'e str,
        /// In words.
        words: &'e str,
    },
    /// A design is finished; a part has no row.
    Finished {
        /// The design.
        file: &'e str,
        /// What it came to.
        row: Option<&'e DesignRow>,
    },
    /// A design could not be done.
    Failed {
        /// The design.
        file: &'e str,
        /// Why, and what is safe.
        reason: &'e str,
    },
}
