//! All checks of the whole job, one binary.

mod designs;
mod published;
