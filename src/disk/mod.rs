//! Writes files whole or not at all ([`mod@write`]), and locks folders against a second program ([`mod@lock`]); both together are a folder of
//! results ([`folder`]). Opens files to be read ([`read`]). What is in the files is decided elsewhere.

pub mod folder;
pub mod lock;
pub mod read;
pub mod write;

pub use folder::{Folder, FolderError};
pub use lock::{Lock, LockError};
pub use write::{Disk, Real, WriteError};
