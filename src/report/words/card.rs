//! Words and figures of the field card, shared by terminal and page.

use crate::learn::{CardReading, FieldCard, Worth};
use crate::report::number;
use crate::units::{System, show};

/// What orders the readings.
pub(crate) const ORDER: &str = "Best first. What is not known is the variance of still days, and of the dusk run, between possible fountains; a reading is worth the share of it that it is expected to remove. The ± is twice the standard error. Shares of several readings do not add up: the last column is still days with the first reading taken as well.";
/// What the card leaves out.
pub(crate) const LEFT_OUT: &str = "The figures hold for the fountain as the design believes it, under a clear sky on a day in mid-season. A fault that the design does not know of is found by `stilldays learn`.";
/// General cautions.
pub(crate) const CAUTIONS: [&str; 3] = [
    "Joining the wires of a small panel through a meter is harmless. Joining those of a battery is a fire.",
    "Work on the low-voltage side only, with dry hands and a firm stand; leave anything on mains to a licensed electrician, and follow local codes.",
    "Keep children away from open basins and from loose wires.",
];

/// `31 % ± 4 %`, or `nothing`.
pub(crate) fn worth(w: &Worth, pm: &str) -> String {
    if !w.clear {
        return "nothing clear".to_owned();
    }
    format!("{} {pm} {}", number::percent(w.share), number::percent_up((2.0 * w.se).min(1.0)))
}

/// `0.95 A to 1.15 A`.
pub(crate) fn expect(r: &CardReading, system: System) -> String {
    let Some([low, high]) = r.expect else { return "nothing to read".to_owned() };
    match r.dimension {
        Some(d) => format!("{} to {}", show(low, d, 3, system), show(high, d, 3, system)),
        None => format!("{} to {}", clock(low), clock(high)),
    }
}

fn clock(minutes: f64) -> String {
    let m = (minutes.round() as i64).rem_euclid(1440);
    format!("{:02}:{:02}", m / 60, m % 60)
}

/// The answer in a sentence.
pub(crate) fn headline(c: &FieldCard) -> String {
    match c.readings.first().filter(|r| r.still_days.clear || r.dusk_run.is_some_and(|d| d.clear)) {
        None => "No single reading would tell much about this fountain.".to_owned(),
        Some(r) => {
            let dusk = match &r.dusk_run {
                Some(d) => format!(" and {} of the dusk run", number::percent(d.share)),
                None => String::new(),
            };
            format!(
                "Read first: {}. In {minutes} minutes it should settle {} of what is not known about still days{dusk}.",
                lower(&r.name),
                number::percent(r.still_days.share),
                minutes = r.minutes
            )
        }
    }
}

fn lower(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |c| c.to_lowercase().collect::<String>() + chars.as_str())
}

/// How far possible fountains differ.
pub(crate) fn spread(c: &FieldCard) -> String {
    let dusk = match c.dusk_run_min {
        Some([mean, sd]) => format!(
            ", and a dusk run of {} min, give or take {}",
            number::fixed(mean, 0),
            number::fixed(sd, 0)
        ),
        None => String::new(),
    };
    format!(
        "Possible fountains under the same weather have {} still days a season on average, give or take {}{dusk} (one standard deviation of {} units).",
        number::fixed(c.still_days[0], 1),
        number::fixed(c.still_days[1], 1),
        number::grouped(c.units as u64)
    )
}

/// The lines of a logbook, their values left open.
pub(crate) fn logbook(c: &FieldCard) -> String {
    let mut text = String::from(
        "# A field card to fill in: write date and value, and take the # away from each line that is filled in.\n# clock: standard\ndate,time,what,value,sky,test,remark\n",
    );
    for r in &c.readings {
        text += &format!("#{}{}\n", r.line, r.name.replace([',', '"'], " "));
    }
    text
}
