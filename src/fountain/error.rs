//! What can go wrong.

use crate::disk::write::WriteError;
use crate::source::Problems;

/// Why a fountain could not be read, changed, simulated or written about.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// The design or its weather was refused. Shows each problem with path, line, what was found and what would do.
    #[error("{0}")]
    Refused(#[from] Problems),
    /// The effort cannot be made: what was asked for, and what is allowed.
    #[error("this cannot be simulated: {0}")]
    Effort(String),
    /// The threads could not be started.
    #[error("cannot start the threads: {0}; ask for fewer")]
    Threads(#[from] rayon::ThreadPoolBuildError),
    /// The season does not have this day (0..365).
    #[error("the season does not have {}", crate::units::dates::month_day(*day_of_year))]
    OutOfSeason {
        /// The day asked for, 0..365.
        day_of_year: u16,
    },
    /// The season has no day that could be picked: none with wanted minutes and a sun.
    #[error("the season has no day to pick: none has both a sun and hours in which the jet is wanted")]
    NoDay,
    /// Results could not be written.
    #[error(transparent)]
    Write(#[from] WriteError),
}
