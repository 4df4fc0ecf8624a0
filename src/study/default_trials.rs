//! Default numbers of trials, for all commands.

/// `run`, `compare` and `batch`: the bundled demo takes seconds.
pub const RUN: u64 = 400;

/// `years`: lives.
pub const YEARS: u64 = RUN;

/// `grid`: maximum for each cell, and the number for the design itself.
pub const GRID_CELL: u64 = RUN;

/// `choose`: maximum for each build.
pub const CHOOSE_BUILD: u64 = RUN;

/// `remedies`: maximum; the ranking ends earlier if the first three places are settled.
pub const REMEDIES: u64 = 2000;
