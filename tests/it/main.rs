//! All checks of the whole job, one binary.

mod common;
mod plant_accounts;
mod published;
mod trade_facts;
mod weather_corpus;
mod weather_files;
