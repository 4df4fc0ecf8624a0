//! Output for people and machines, from an invented summary.

mod files;
pub mod fixture;
pub mod fixture_days;
pub mod page;
mod tables;
mod text;
mod titles;
