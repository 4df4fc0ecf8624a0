//! Writes files whole or not at all ([`mod@write`]), and locks folders against a second program ([`mod@lock`]). What is in the files
//! is decided elsewhere.

pub mod lock;
pub mod write;

pub use lock::{Lock, LockError};
pub use write::{Disk, Real, WriteError};
