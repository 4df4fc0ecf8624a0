//! What people and machines are shown, built from an invented summary.

mod files;
pub mod fixture;
mod page;
mod text;
