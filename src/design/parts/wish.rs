//! `[wish]`: what is wanted of the jet, and when a day counts as still.

/// What is wanted of the jet.
#[derive(Clone, Debug, PartialEq)]
pub struct Wish<N> {
    /// First and last day of the season, 0-based days of a 365-day year (0 = 1 January); a
    /// season with `first > last` runs over the new year.
    pub season: (u16, u16),
    /// Start of the wanted hours.
    pub from: DayTime,
    /// End of the wanted hours.
    pub to: DayTime,
    /// Height the jet must reach to count, m.
    pub jet_m: N,
    /// A day with fewer jet minutes is still, min.
    pub still_below_min: f64,
    /// A day with less than this share of its wanted minutes is short, 0..=1.
    pub enough: f64,
    /// How long after sunset the jet should go on, min.
    pub dusk_run_min: f64,
    /// Whether the design wishes for a dusk run itself; if not, evenings are no part of the wish.
    pub dusk_run_wished: bool,
    /// Share of evenings that should reach the dusk run, 0..=1.
    pub evenings: f64,
    /// A minute of pulsing counts if the pump runs at least this share of it, 0..=1.
    pub pulse_counts_from: f64,
    /// Still days a month that are acceptable.
    pub still_days_a_month: f64,
    /// Share of years in which the whole wish must be met, 0..1.
    pub confidence: f64,
}

/// A time of day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DayTime {
    /// Minutes after (negative: before) sunrise.
    Sunrise(f64),
    /// Minutes after (negative: before) sunset.
    Sunset(f64),
    /// Local standard time, minutes after midnight, 0..=1440.
    Clock(f64),
}

impl<N> Wish<N> {
    pub(in crate::design) fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Wish<M> {
        Wish {
            season: self.season,
            from: self.from,
            to: self.to,
            jet_m: f("wish.jet", &self.jet_m),
            still_below_min: self.still_below_min,
            enough: self.enough,
            dusk_run_min: self.dusk_run_min,
            dusk_run_wished: self.dusk_run_wished,
            evenings: self.evenings,
            pulse_counts_from: self.pulse_counts_from,
            still_days_a_month: self.still_days_a_month,
            confidence: self.confidence,
        }
    }

    /// Days of the season, in order, 0-based days of a 365-day year.
    pub fn days(&self) -> impl Iterator<Item = u16> + use<N> {
        let (first, last) = self.season;
        let n = (365 + last - first) % 365 + 1;
        (0..n).map(move |k| (first + k) % 365)
    }
}
