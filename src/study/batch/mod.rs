//! `batch` and `gather`: a folder of designs, overnight, on one machine or on many.
//!
//! [`find`] lists the designs; [`Identity`] says what a result was made from; a [`Checkpoint`] is a
//! design half done, or one machine's part of it; a [`Seal`] marks a finished design, by the hashes
//! of what it was made from and of its files; [`Batch`] does the rest in an order that may be cut
//! anywhere; [`gather`] puts parts together; [`BatchSummary`] is what there is to read afterwards.
//!
//! Nothing here prints, and pages are made by whoever calls ([`ResultWriter`]).

pub mod batch_summary;
pub mod checkpoint;
pub mod find;
pub mod gather;
pub mod identity;
pub mod manifest;
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
