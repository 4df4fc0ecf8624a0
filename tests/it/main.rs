//! All checks of the whole job, one binary.

mod common;
mod published;
mod trade_facts;
mod weather_corpus;
mod weather_files;
