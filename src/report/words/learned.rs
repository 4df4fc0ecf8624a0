//! Words and figures of a learned logbook, shared by terminal and page.

use super::entry::{clock, entry};
use super::names::{escaped, key_in_words};
use super::run::{mean_minutes, mean_of};
use crate::learn::{EntryFinding, Findings, Quantity};
use crate::report::number;
use crate::tally::Summary;
use crate::units::{System, show};

/// What is said when a result is refused.
pub(crate) const REFUSED: &str =
    "The computation could not find out what this logbook says; no units were written.";

/// `12 entries on 8 days, 20 days simulated`.
pub(crate) fn size(f: &Findings) -> String {
    let [entries, logged, simulated] = f.size;
    let many = |n: usize, what: &str| super::names::count(n, what);
    let entries = if entries == 1 { "1 entry".to_owned() } else { format!("{entries} entries") };
    format!("{entries} on {}, {} simulated", many(logged, "day"), many(simulated, "day"))
}

/// Where the weather of the days came from.
pub(crate) fn weather(f: &Findings) -> String {
    match &f.actual {
        Some(file) => {
            format!("The days are those of {}; only the minutes within the hours are drawn.", escaped(file))
        }
        None => {
            "The days are drawn from the design's weather so that they agree with the sky noted.".to_owned()
        }
    }
}

/// A value of a quantity in a unit that suits it.
pub(crate) fn value(q: &Quantity, x: f64, system: System) -> String {
    q.dimension.map_or_else(|| number::given(x), |d| show(x, d, 3, system))
}

/// Share of a standard deviation below which a mean is 0 but for rounding.
const ROUNDING: f64 = 1e-9;

/// `2.7 Ah, sd 0.1 Ah`.
pub(crate) fn mean_sd(q: &Quantity, [mean, sd]: [f64; 2], system: System) -> String {
    let mean = if mean.abs() < ROUNDING * sd { 0.0 } else { mean };
    let spread = match q.dimension {
        // The offset of °F has no part in a difference.
        Some(crate::units::Dimension::Temperature) => format!("{} K", number::two_digits(sd)),
        Some(d) => show(sd, d, 2, system),
        None => number::two_digits(sd),
    };
    // Digits below a hundredth of the spread are noise: a mean of 0 would show as -0.00000000003.
    let step = libm::pow(10.0, libm::log10(sd.abs().max(1e-300)).floor() - 2.0);
    let mean = if sd > 0.0 { (mean / step).round() * step + 0.0 } else { mean };
    format!("{}, sd {spread}", value(q, mean, system))
}

/// What a quantity did: `down by 1.4 sd, better known by half`.
pub(crate) fn change(q: &Quantity) -> String {
    let shift = (q.now[0] - q.before[0]) / q.before[1].max(1e-12);
    let narrower = 1.0 - q.now[1] / q.before[1].max(1e-12);
    let way = if shift < 0.0 { "lower" } else { "higher" };
    let moved = if shift.abs() >= 0.25 {
        format!("{way} by {:.1} sd", shift.abs())
    } else {
        "where it was".to_owned()
    };
    match narrower {
        n if n >= 0.1 => format!("{moved}, spread {} smaller", number::percent(n)),
        n if n <= -0.1 => format!("{moved}, spread {} larger", number::percent(-n)),
        _ => moved,
    }
}

/// Name of a quantity.
pub(crate) fn quantity(q: &Quantity) -> String {
    key_in_words(&q.key)
}

/// Each entry in words: `14 June, 21:10: jet stopped; clear`.
pub(crate) fn entries(f: &Findings, system: System) -> Vec<String> {
    let several_years = f.entries.windows(2).any(|pair| pair[0].entry.date.year != pair[1].entry.date.year);
    f.entries.iter().map(|e| entry(&e.entry, e.dimension, several_years, system)).collect()
}

/// What the units expect of an entry: `21:10 to 22:20`.
pub(crate) fn expected(e: &EntryFinding, kind: EntryValue) -> String {
    if e.is_yes_no {
        return format!("{} agree", number::percent(e.share));
    }
    let Some([_, low, high]) = e.expected else { return "nothing to read".to_owned() };
    let range = match kind {
        EntryValue::Time => format!("{} to {}", clock(low), clock(high)),
        EntryValue::Of(d, system) => format!("{} to {}", show(low, d, 3, system), show(high, d, 3, system)),
    };
    match e.share {
        s if s >= 0.005 => format!("{range}; none in {}", number::percent(s)),
        _ => range,
    }
}

/// What kind of number an entry holds.
#[derive(Clone, Copy)]
pub(crate) enum EntryValue {
    /// A time of day.
    Time,
    /// A quantity.
    Of(crate::units::Dimension, System),
}

/// How an entry's numbers are shown: by what was noted.
pub(crate) fn entry_value(e: &EntryFinding, system: System) -> EntryValue {
    e.dimension.map_or(EntryValue::Time, |d| EntryValue::Of(d, system))
}

/// Still days and dusk run of a summary.
pub(crate) fn figures(s: &Summary, pm: &str) -> [String; 3] {
    [
        number::estimate(s.season.still_days_per_month, 2, pm),
        number::estimate(mean_of(&s.season.still_days), 1, pm),
        s.season
            .dusk_run_min
            .as_ref()
            .map_or("no sunset".to_owned(), |m| number::estimate(mean_minutes(m), 1, pm)),
    ]
}

/// The sentence above everything: what is believed now.
pub(crate) fn headline(f: &Findings, pm: &str) -> String {
    let before = number::mean(f.before.season.still_days_per_month, 2);
    match &f.now {
        None => REFUSED.to_owned(),
        Some(now) => format!(
            "{} still days a month by what was seen; {before} as the design says.",
            number::estimate(now.season.still_days_per_month, 2, pm)
        ),
    }
}

/// How well the computation did, in a sentence.
pub(crate) fn sampler(f: &Findings) -> String {
    let s = &f.sampler;
    let pair = s.still_days.iter().map(|d| number::fixed(*d, 1)).collect::<Vec<_>>().join(" and ");
    format!(
        "Two independent runs of {} units on {} paths of weather each: {pair} still days a season (units differ by {}, one sd), ln evidence {} apart, {} of the last moves accepted, {} different units of 1,024, likelihood known to {} (ln).",
        s.rows,
        s.draws,
        number::fixed(s.still_days_sd, 1),
        number::fixed(s.evidence_apart, 1),
        number::percent(s.acceptance),
        s.distinct,
        number::fixed(s.noise, 1)
    )
}

/// What the errors leave out.
pub(crate) const LEFT_OUT: &str = "The ± of still days and dusk run counts the trials alone. It leaves out what the computation of the units itself is off, which the two runs show, and what the model has wrong about every fountain.";
