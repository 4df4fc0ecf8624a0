//! All checks of the whole job, one binary.

mod invent;
mod layers;
mod published;
mod scenarios;
mod weather_files;
