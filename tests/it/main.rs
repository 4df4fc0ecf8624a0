//! All checks of the whole job, one binary.

mod batch;
mod common;
mod invent;
mod layers;
mod published;
mod report;
mod scenarios;
mod trade_facts;
mod weather_corpus;
mod weather_files;
