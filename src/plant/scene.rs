//! The season of a design at its site: which minutes are wanted, which are stepped.

/// One day of the season as the plant meets it.
#[derive(Clone, Debug, PartialEq)]
pub struct SceneDay {
    /// Day of the year, 0..365 (index into the calendar).
    pub day_of_year: u16,
    /// Month, 0..12.
    pub month: u8,
    /// Day counted in the season, negative during the run-in before it.
    pub season_day: i32,
    /// Start of the wanted hours, min from the start of the day; equal to `wanted_to` if none.
    pub wanted_from: f64,
    /// End of the wanted hours, min.
    pub wanted_to: f64,
    /// Sunset, min, if there is one.
    pub sunset_min: Option<f64>,
    /// Minutes stepped one by one: from this one ...
    pub step_from: usize,
    /// ... up to this one; the rest of the day is closed form.
    pub step_to: usize,
}

impl SceneDay {
    /// Wanted minutes of the day.
    pub fn wanted_min(&self) -> f64 {
        self.wanted_to - self.wanted_from
    }
}
