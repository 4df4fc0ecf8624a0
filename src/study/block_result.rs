//! What a simulated block gives.

use super::block_history::BlockHistory;
use crate::tally::{Tally, TrialOutcome};

/// The results of one design in a block.
pub struct BlockResult {
    /// The tally of its trials.
    pub tally: Tally,
    /// The result of each trial, for paired comparison.
    pub outcomes: Vec<TrialOutcome>,
    /// Its days, kept for the report: only in the first block of a plan that is simulated alone.
    pub history: Option<BlockHistory>,
}
