//! An entry of a logbook as a sentence.

use super::names::{escaped, key_in_words, month};
use crate::logbook::{Date, Entry, Kind, Sky, What};
use crate::report::number;
use crate::units::{Dimension, System, show};

/// `14 June, 21:10: jet stopped; clear`. The year is said if the logbook speaks of more than one.
pub(crate) fn entry(e: &Entry, dimension: Option<Dimension>, with_year: bool, system: System) -> String {
    let time = e.clock_minute.map_or(String::new(), |minutes| format!(", {}", clock(minutes)));
    let seen = seen(e, dimension, system);
    let sky = e.sky.map(|sky| sky_words(sky).to_owned());
    let beside: String =
        sky.into_iter().chain(e.tests.iter().map(|t| t.words())).map(|w| format!("; {w}")).collect();
    format!("{}{time}: {seen}{beside}", date(e.date, with_year))
}

fn date(d: Date, with_year: bool) -> String {
    let year = if with_year { format!(" {}", d.year) } else { String::new() };
    format!("{} {}{year}", d.day, month(d.month))
}

/// `21:40` of minutes after midnight.
pub(crate) fn clock(minutes: f64) -> String {
    let m = (minutes.round() as i64).rem_euclid(1440);
    format!("{:02}:{:02}", m / 60, m % 60)
}

/// What was seen, with its value.
fn seen(e: &Entry, dimension: Option<Dimension>, system: System) -> String {
    let value = || match (e.value, dimension) {
        (Some(x), Some(d)) => show(x, d, 3, system),
        (Some(x), None) => number::given(x),
        (None, _) => String::new(),
    };
    let name = match &e.what {
        What::Stopped => return "jet stopped".to_owned(),
        What::DidNotStop => return "jet did not stop".to_owned(),
        What::Started => return "jet started".to_owned(),
        What::Runs => return "jet running".to_owned(),
        What::DoesNotRun => return "no jet".to_owned(),
        What::RanAllDay => return "jet all day".to_owned(),
        What::RanHours => return format!("about {} of jet", value()),
        What::Still => return "still day".to_owned(),
        What::DidNotTurn => return "mount did not turn".to_owned(),
        What::FilledUp => return "basin filled up".to_owned(),
        What::WaterBelowFull => return format!("water {} below full", value()),
        What::Azimuth => return format!("mount looks to {}", value()),
        What::Quantity(key) => key_in_words(key),
        what => Kind::of(what).map_or(String::new(), |k| k.words[0].to_owned()),
    };
    format!("{} {}", escaped(&name), value())
}

fn sky_words(sky: Sky) -> &'static str {
    match sky {
        Sky::Clear => "clear",
        Sky::Broken => "broken clouds",
        Sky::Overcast => "overcast",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::parse;

    /// Every kind that can be noted is said in words, with its value and without the commas of its line.
    #[test]
    fn entries_are_said_in_words() {
        let said = |line: &str| {
            let text = format!("# clock: standard\ndate,time,what,value,sky,test\n{line}\n");
            let book = parse(std::path::Path::new("log.csv"), text.as_bytes()).unwrap();
            let e = &book.entries[0];
            let dimension = match &e.what {
                What::Quantity(key) => crate::design::dimension_of(key),
                what => Kind::of(what).and_then(|k| k.value),
            };
            entry(e, dimension, false, System::Si)
        };
        assert_eq!(said("2026-06-14,21:10,stopped,,clear,"), "14 June, 21:10: jet stopped; clear");
        assert_eq!(
            said("2026-08-22,13:30,jet height,62 cm,broken,"),
            "22 August, 13:30: jet height 62 cm; broken clouds"
        );
        assert_eq!(
            said("2026-09-05,,standby current,14 mA,,pump unplugged"),
            "5 September: standby current 14 mA; pump unplugged"
        );
        assert_eq!(said("2026-09-05,,ran hours,6 h,,"), "5 September: about 6 h of jet");
        assert_eq!(said("2026-09-05,,water below full,3 cm,,"), "5 September: water 3 cm below full");
        assert_eq!(said("2026-09-05,,still,,,"), "5 September: still day");
        assert_eq!(
            said("2026-09-05,,battery.capacity,1.4 Ah,,"),
            "5 September: capacity of the battery 1.4 Ah"
        );
    }
}
