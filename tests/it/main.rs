//! All checks of the whole job, one binary.

mod browser;
mod published;
mod report;
