//! What people and machines are shown, built from an invented summary.

mod files;
pub mod fixture;
pub mod page;
mod tables;
mod text;
mod titles;
