//! All checks of the whole job, one binary.

mod invent;
mod layers;
mod published;
mod weather_files;
