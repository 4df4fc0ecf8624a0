//! All checks of the whole job, one binary.

mod published;
mod weather_corpus;
mod weather_damage;
mod weather_files;
