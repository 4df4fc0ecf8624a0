//! Files written whole or not at all, and folders that one program works on at a time.

pub mod lock;
pub mod write;

pub use lock::{Lock, LockError};
pub use write::{Disk, Real, WriteError};
