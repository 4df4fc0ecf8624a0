//! All checks of the whole job, one binary.

mod batch;
mod browser;
mod choose;
mod cli;
mod common;
mod decide;
mod designs;
mod invent;
mod layers;
mod main_job;
mod minute_record;
mod plant_accounts;
mod published;
mod report;
mod repro;
mod scenarios;
mod trade_facts;
mod weather_command;
mod weather_corpus;
mod weather_damage;
mod weather_files;
