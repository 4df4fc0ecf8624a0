//! The words and sentences that terminal and page share.

pub(crate) mod card;
pub mod choice;
pub(crate) mod comparison;
pub mod difference;
pub(crate) mod entry;
pub mod grid;
pub mod input;
mod key_figures;
pub(crate) mod learned;
pub(crate) mod money;
mod names;
pub(crate) mod over_years;
mod panel;
pub mod remedies;
pub(crate) mod replay;
mod run;
pub(crate) mod shares;
pub(crate) mod water;
pub(crate) mod weather;
pub mod years;

pub use input::{input_verdict, more_weather, weather_files};
pub use key_figures::key_figures;
pub(crate) use names::{all_cautions, letter};
pub use names::{
    cause, clock, closure_offset, count, date, escaped, key_in_words, month, month_short, quoted, ranked,
    trials,
};
pub(crate) use panel::{on_panel, panel_surface, surface_figure};
pub use run::{
    asked_for, asked_suffix, battery_verdict, chief_cause, dusk_cut, dusk_median, dusk_verdict, let_run,
    life_range, life_short, mean_minutes, mean_of, season, still_verdict, wish_part, wish_short,
    wish_verdict, within, years_share, years_text,
};
