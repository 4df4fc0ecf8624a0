//! How many trials each command takes if nothing else is asked: the one home of these numbers.

/// `run`, `compare` and `batch`: the bundled demo takes seconds.
pub const RUN: u64 = 400;

/// `grid`: most trials of a cell that needs so many, and those of the design itself.
pub const GRID_CELL: u64 = RUN;

/// `choose`: most trials of one build.
pub const CHOOSE_BUILD: u64 = RUN;

/// `remedies`: trials at which the ranking ends, settled or not.
pub const REMEDIES: u64 = 2000;
