//! Snow on a panel, hour by hour.

use crate::check_file::Check;
use stilldays::plant::single_unit::under_snow;

#[test]
fn snow_covers_and_slides() {
    let tilts = [("cover_10", 10.0), ("cover_30", 30.0), ("cover_45", 45.0), ("cover_60", 60.0)];
    let mut covered = [0.0; 4];
    let mut check = Check::open("computed/06o_snow.csv");
    check.compare(|l| {
        let (snow_cm, light) = (l.number("snowfall_cm"), l.number("poa_Wm2"));
        tilts
            .iter()
            .zip(&mut covered)
            .map(|((name, tilt_deg), covered)| {
                *covered = under_snow(*covered, snow_cm, light, l.number("air_C"), *tilt_deg);
                ((*name).to_owned(), *covered - l.number(name))
            })
            .collect()
    });
    check.report(1e-9, "of the panel");
}
