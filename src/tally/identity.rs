//! Which design was simulated, how often, and by what.

use serde::{Deserialize, Serialize};

/// What was simulated.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct RunInfo {
    /// Simulated seasons.
    pub trials: u64,
    /// Simulated days, run-in included.
    pub days: u64,
    /// Seed of all chance.
    pub seed: u64,
    /// Version of this program.
    pub version: String,
    /// The command that makes this again.
    pub command: String,
}

/// Which design.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct DesignId {
    /// What the builder calls it.
    pub title: String,
    /// Its file, as named by the user.
    pub file: String,
    /// SHA-256 of its text, hexadecimal.
    pub sha256: String,
    /// Price of the whole build, in the builder's currency, if any price is given.
    pub price: Option<f64>,
    /// Currency of all prices, if the design names one.
    pub currency: Option<String>,
}
