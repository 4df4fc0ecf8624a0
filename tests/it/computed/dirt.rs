//! Dirt that grows and is washed off.

use crate::check_file::Check;
use stilldays::plant::single_unit::{Dirt, DirtState};

const A: Dirt = Dirt { per_day: 0.0015, washed_mm: 6.0, grace_days: 14.0, most: 0.3, rain_every_days: 15.0 };

#[test]
fn dirt_day_by_day() {
    let b = Dirt { per_day: 0.003, grace_days: 3.0, most: 0.06, ..A };
    let c = Dirt { per_day: 0.002, washed_mm: 1.0, grace_days: 1.0, ..A };
    let mut states = [DirtState::default(), DirtState::with(0.04), DirtState::default()];
    let mut check = Check::open("computed/06k_dirt_kimber.csv");
    check.compare(|l| {
        let (rain_mm, by_hand) = (l.number("rain_mm"), l.number("day") == 40.0);
        [("A", A, false), ("B", b, by_hand), ("C", c, false)]
            .into_iter()
            .zip(&mut states)
            .map(|((name, dirt, cleaned), state)| {
                (name.to_owned(), state.day(&dirt, rain_mm, cleaned) - l.number(name))
            })
            .collect()
    });
    check.report(1e-9, "of the light");
}

#[test]
fn dirt_in_the_long_run() {
    let of = |l: &crate::check_file::Line<'_>| Dirt {
        per_day: l.number("r_per_day"),
        grace_days: l.number("g_days"),
        most: l.number("cap"),
        rain_every_days: 1.0 / l.number("lam_per_day"),
        ..A
    };
    let mut check = Check::open("computed/06l_dirt_mean.csv").part("formula");
    check.compare(|l| vec![("mean".into(), of(&l).mean(None) - l.number("closed_form"))]);
    // The rates of the file are rounded to six digits.
    check.report(2e-7, "of the light");
    let mut check = Check::open("computed/06l_dirt_mean.csv").part("simulated by days");
    check.compare(|l| {
        let (found, simulated) = (of(&l).mean(None), l.number("simulated"));
        // Steps of days: half a day of growth.
        let allowed = 0.05 * simulated + 0.5 * l.number("r_per_day");
        vec![("mean".into(), (found - simulated) / allowed)]
    });
    check.report(1.0, "of 5 % and half a day of growth");
}
