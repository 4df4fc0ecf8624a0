//! `[care]`: who looks after the fountain over the years, and what that costs.

/// What is cleaned and replaced, and when. But for the cleaning, only `stilldays years` asks.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Care {
    /// Days from the failure of the pump until a new one runs; `None`: nobody replaces it.
    pub replace_pump_after_days: Option<u16>,
    /// The same of a mount that moves.
    pub replace_mount_after_days: Option<u16>,
    /// Before a season the battery is replaced if it holds less than this share of what it held when new.
    pub replace_battery_below: Option<f64>,
    /// The battery is replaced before it is older than so many years.
    pub replace_battery_every_years: Option<f64>,
    /// Days from one cleaning of the panel to the next; `None`: nobody cleans it.
    pub clean_panel_every_days: Option<u16>,
    /// What is done between two seasons.
    pub winter: Winter,
    /// Price of a visit, in the builder's currency, on top of the parts.
    pub visit_price: Option<f64>,
    /// Real rate of interest a year for later expenses, share; 0: constant prices as they are.
    pub interest: f64,
}

/// What is done between two seasons.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Winter {
    /// Nothing: panel, mount, battery and electronics stay out, the pump is off.
    #[default]
    LeftOut,
    /// Panel, mount, battery and pump are taken indoors, and put out again [`SETTING_UP_DAYS`] before the next season.
    TakenIn,
}

/// So many days before a season all that was taken in is out again.
pub const SETTING_UP_DAYS: usize = 20;
