//! All checks of the whole job, one binary.

mod common;
mod published;
mod trade_facts;
