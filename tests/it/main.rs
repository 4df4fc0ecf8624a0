//! All checks of the whole job, one binary.

mod invent;
mod layers;
mod published;
mod report;
mod weather_corpus;
mod scenarios;
mod weather_files;
mod common;
mod published;
mod trade_facts;
