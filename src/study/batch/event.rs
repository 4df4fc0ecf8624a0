//! The events of a batch, passed to [`super::Batch::on_event`].

use super::batch_summary::DesignRow;
use super::find::PassedOver;
use crate::source::Problems;

/// Something that happened in a batch.
#[derive(Debug)]
pub enum Event<'e> {
    /// A file was ignored: it is not a design.
    PassedOver(&'e PassedOver),
    /// A design was refused.
    Refused {
        /// The design.
        file: &'e str,
        /// Why, with paths as they can be opened.
        problems: &'e Problems,
    },
    /// A design is being inspected.
    Looking {
        /// Its number, from 0.
        at: u64,
        /// How many there are.
        of: u64,
    },
    /// All designs have been inspected; simulation starts.
    Looked {
        /// Designs to simulate.
        to_do: usize,
        /// Designs finished before.
        finished: usize,
        /// Designs refused.
        refused: usize,
        /// Maximum number of trials to simulate, all designs together.
        trials: u64,
    },
    /// A design is started.
    Begun {
        /// The design.
        file: &'e str,
        /// Maximum number of its trials.
        trials: u64,
        /// Of these, done before.
        done: u64,
    },
    /// A remark about a design.
    Noted {
        /// The design.
        file: &'e str,
        /// The remark.
        words: &'e str,
    },
    /// A design is finished; a part has no row.
    Finished {
        /// The design.
        file: &'e str,
        /// Its row in the summary.
        row: Option<&'e DesignRow>,
    },
    /// A design failed.
    Failed {
        /// The design.
        file: &'e str,
        /// Why, and which files are safe.
        reason: &'e str,
    },
}
