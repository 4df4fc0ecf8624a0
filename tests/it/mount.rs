//! The mount in cases where its head or its arithmetic has little to work with.

use crate::common::{Day, Run, with_battery};
use rand::RngExt;
use stilldays::design::Head;
use stilldays::plant::single_unit;
use stilldays::seed::{Purpose, stream};
use stilldays::units::Uncertain;

/// A turn of less than a minute ends with the minute, although share of the minute times speed is not the angle to the last
/// digit.
#[test]
fn a_turn_of_less_than_a_minute_arrives() {
    let mut rng = stream(9, Purpose::Part("turn"), 0, 0);
    let mut pick = |low: f64, high: f64| low + (high - low) * rng.random::<f64>();
    let mut unit = || {
        let d = [pick(-1.0, 1.0), pick(-1.0, 1.0), pick(0.05, 1.0)];
        let r = d.iter().map(|x| x * x).sum::<f64>().sqrt();
        (d.map(|x| x / r), pick(0.5, 3.0))
    };
    let (mut within, mut beyond) = (0, 0);
    for _ in 0..20_000 {
        let ((from, speed), (to, _)) = (unit(), unit());
        let (angle, gone) = single_unit::turned(from, to, speed);
        if angle <= speed {
            within += 1;
            assert_eq!(gone, angle, "from {from:?} to {to:?} at {speed}");
        } else {
            beyond += 1;
            assert!((gone - speed).abs() < 1e-12, "{gone} {speed}");
        }
    }
    assert!(within > 5_000 && beyond > 5_000, "{within} {beyond}");
}

/// Under an overcast sky over snow, a head with walls may see more light from below than from above and balance straight
/// down. The mount goes as low as it can, and gets there.
#[test]
fn a_head_that_looks_straight_down_is_taken_as_low_as_the_mount_reaches() {
    let mut d = with_battery();
    d.site.albedo = Uncertain::exact(0.98);
    d.mount.head = Head::Walls;
    d.mount.dim_w_m2 = Uncertain::exact(0.0);
    d.mount.tilt_max_deg = Uncertain::exact(60.0);
    let t = Run::new(&d).watched(Day::Overcast(0.3));
    let noon = &t.minutes[t.minutes.len() / 3..t.minutes.len() / 2];
    let low = noon.iter().map(|m| m.aim_tilt_deg).fold(90.0, f64::min);
    let off = noon.iter().filter_map(|m| m.off_aim_deg).fold(0.0, f64::max);
    println!("tilt about noon at least {low}, off aim by up to {off}");
    assert!((low - 60.0).abs() < 1e-6 && off < 1.0, "{low} {off}");
}
