//! All checks of the whole job, one binary.

mod invent;
mod published;
