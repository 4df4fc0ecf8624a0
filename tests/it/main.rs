//! All checks of the whole job, one binary.

mod published;
mod weather_files;
