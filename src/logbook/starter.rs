//! The logbook that `stilldays new --logbook` writes: every entry in it is invented.

use super::kinds::{Needs, kinds};

/// A logbook with examples and a list of everything that can be noted. The reader accepts it.
pub fn starter() -> String {
    let mut text = HEAD.to_owned();
    let mut line = |left: &str, right: &str| text += &format!("#   {left:<24} {right}\n");
    for kind in kinds() {
        let when = match kind.needs {
            Needs::Time => "time",
            Needs::Day => "day",
            Needs::Any => "time or none",
        };
        let usual = kind.usual.words(kind.value);
        let usual = if usual.is_empty() { String::new() } else { format!("; known to {usual} (1 sd)") };
        let example = if kind.example.is_empty() { String::new() } else { format!(", {}", kind.example) };
        line(kind.words[0], &format!("{} [{when}{example}{usual}]", kind.meaning));
    }
    line("battery.capacity", "or any other uncertain quantity of the design by its key, measured by itself");
    text + TESTS + ROWS
}

const HEAD: &str = "\
# A logbook of a fountain: one line for each thing seen. The entries below are invented; replace them by your own.
#
# clock: daylight saving
#   (or: standard; or: daylight saving from 03-29 to 10-25)
#
# date    year-month-day            time    hours:minutes by that clock; empty for a day as a whole
# value   with its unit, and how well it is known if you can say: 30 cm ± 3 cm, 5 to 6 h
#         (± is twice the standard deviation; without it the usual one of the kind below is taken)
# sky     clear, broken (sun and clouds), overcast, or unknown: at that hour while the sun is up, else of that day
#
# what can be noted:
";

const TESTS: &str = "\
#
# test    pump unplugged, panel to the sun (turned by hand), battery disconnected (pump hung on the panel),
#         freshly charged (the battery, that morning), on 6 V (the pump on a supply); join two with +
#
# Note good evenings as well as bad ones: if only failures are written down, the model must think that nothing works.
# Care: joining the wires of a small panel through a meter is harmless; joining those of a battery is a fire.
";

const ROWS: &str = "\
date,time,what,value,sky,test,remark
2026-06-03,13:10,short-circuit current,1.08 A,clear,panel to the sun,
2026-06-03,13:20,jet height,30 cm,clear,battery disconnected + panel to the sun,pump hung on the panel
2026-06-03,22:05,stopped,,clear,,
2026-06-05,,did not stop,,clear,,still running when we went in
2026-06-07,15:00,no jet,,overcast,,
2026-06-07,,ran hours,4 h,overcast,,
2026-06-09,21:20,battery voltage,6.35 V,broken,,at sunset
2026-06-10,10:30,azimuth,95 deg,clear,,had not yet turned to the sun?
2026-06-12,,filled up,,,,
";

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    #[test]
    fn the_reader_accepts_it_without_a_warning() {
        let logbook = crate::logbook::parse(Path::new("new.csv"), starter().as_bytes())
            .unwrap_or_else(|p| panic!("{p}"));
        assert!(logbook.warnings.is_empty(), "{:?}", logbook.warnings);
        assert_eq!(logbook.entries.len(), 9);
    }
}
