//! All checks of the whole job, one binary.

mod minute_record;
mod published;
mod weather_files;
