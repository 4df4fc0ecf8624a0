//! `batch` and `gather`: a folder of designs, on one machine or several.
//!
//! [`Batch`] simulates all designs. It can be killed at any time: after each wave of a design a checkpoint is written, so
//! the same command continues from there, and what is lost is one wave ([`super::run::resume`]).
//!
//! - [`find`] lists the designs, [`Identity`] says what a result is made from.
//! - A [`Checkpoint`] is a design partly simulated, or one machine's part of it.
//! - A [`Seal`] marks a finished design by the hashes of its input and files.
//! - [`scheduler`] finds out which part a task of a cluster is, [`part_status`] how far the parts are.
//! - [`gather`] merges parts; [`BatchSummary`] is what there is to read in the end.
//!
//! Nothing here prints; the contents of files are made by the caller ([`ResultWriter`]).

pub mod batch_summary;
pub mod checkpoint;
pub mod find;
pub mod gather;
pub mod identity;
pub mod manifest;
pub mod part_status;
pub mod scheduler;
pub mod seal;
pub mod share;

mod context;
mod drive;
mod event;
mod job;

pub use batch_summary::BatchSummary;
pub use checkpoint::Checkpoint;
pub use context::{Batch, ResultWriter};
pub use drive::{BatchError, Ended};
pub use event::Event;
pub use identity::Identity;
pub use seal::Seal;
pub use share::Share;
