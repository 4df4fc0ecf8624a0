//! Photocell heads against four cells whose light is integrated numerically: where they balance.

use crate::check_file::{Check, Line};
use stilldays::design::Head;
use stilldays::plant::single_unit;
use stilldays::sky::{DeadBand, HeadBalance, HeadOptics, OpenSky, Sky, SunTerms, balance, clear};

const ALBEDO: f64 = 0.2;
const SHADOW_DEG: f64 = 17.0;
/// Extraterrestrial irradiance of the file, W/m².
const I0_W_M2: f64 = 1367.0;

fn head(line: Line<'_>) -> Head {
    match line.text("head") {
        "walls" => Head::Walls,
        "tilted" => Head::Tilted,
        "back" => Head::BackToBack,
        other => panic!("no head {other}"),
    }
}

/// The sky of a line, the sun in the east.
fn sky(line: Line<'_>) -> (SunTerms, Sky<f64>) {
    let zenith = line.number("Z_deg").to_radians();
    let (sin, cos) = libm::sincos(zenith);
    let terms = SunTerms::new([sin, 0.0, cos], zenith, clear::AirMass::new(cos, 0.0).relative / I0_W_M2);
    (terms, terms.sky(line.number("DNI"), line.number("DHI")))
}

/// Where the head balances.
fn balanced(head: Head, terms: &SunTerms, sky: &Sky<f64>) -> HeadBalance<f64> {
    let optics = HeadOptics { shadow_tan: libm::tan(SHADOW_DEG.to_radians()), glow_seen: 1.0 };
    balance(head, &optics, sky, terms, ALBEDO, &OpenSky::default())
}

/// The same, ° from the zenith toward the sun.
fn tilt_deg(head: Head, terms: &SunTerms, sky: &Sky<f64>) -> f64 {
    let aim = balanced(head, terms, sky);
    let length = aim.direction.iter().map(|x| x * x).sum::<f64>();
    assert!((length - 1.0).abs() < 1e-9, "{:?}", aim.direction);
    libm::atan2(aim.direction[0], aim.direction[2]).to_degrees()
}

/// Glow and horizon are those of the file: the balances are of the same skies.
#[test]
fn skies_of_the_file() {
    let mut check = Check::open("computed/05i_head_balance.csv").part("glow and horizon");
    check.compare(|line| {
        let (_, sky) = sky(line);
        let dhi = line.number("DHI");
        vec![
            (format!("F1, {}", line.text("sky")), 1.0 - sky.dome_w_m2 / dhi - line.number("F1")),
            (format!("F2, {}", line.text("sky")), sky.horizon_w_m2 / dhi - line.number("F2")),
        ]
    });
    check.report(0.01, "of DHI");
}

/// Balances with a beam of more than half the sky's light, and without: `with` says which.
fn compare(part: &str, with: bool, tolerance_deg: f64, only: &[Head]) {
    let mut check = Check::open("computed/05i_head_balance.csv").part(part);
    check.compare(|line| {
        let lit = line.number("DNI") > 0.5 * line.number("DHI");
        if lit != with || !only.contains(&head(line)) {
            return Vec::new();
        }
        let (terms, sky) = sky(line);
        let ours = tilt_deg(head(line), &terms, &sky);
        println!(
            "{:?} {}: {ours:.1}, summed {}",
            head(line),
            line.text("sky"),
            line.text("tilt_from_zenith")
        );
        vec![(format!("{:?}, {}", head(line), line.text("sky")), ours - line.number("tilt_from_zenith"))]
    });
    check.report(tolerance_deg, "deg");
}

#[test]
fn walls_balance_with_a_beam() {
    compare("walls with a beam", true, 3.0, &[Head::Walls]);
}

#[test]
fn walls_balance_under_cloud() {
    compare("walls under cloud", false, 10.0, &[Head::Walls]);
}

#[test]
fn other_heads_balance_with_a_beam() {
    compare("other heads with a beam", true, 3.0, &[Head::Tilted, Head::BackToBack]);
}

#[test]
fn other_heads_balance_under_cloud() {
    compare("other heads under cloud", false, 10.0, &[Head::Tilted, Head::BackToBack]);
}

/// Between the file's skies: the balance found is a root of the difference of the cells, and where the glow is not seen a closed
/// cover leaves the head looking up.
#[test]
fn the_balance_is_a_root() {
    let mut found = 0;
    for zenith_deg in [5.0_f64, 20.0, 40.0, 60.0, 80.0] {
        for dni in [0.0, 3.0, 20.0, 120.0, 700.0] {
            for dhi in [20.0, 90.0, 300.0] {
                let z = zenith_deg.to_radians();
                let (sin, cos) = libm::sincos(z);
                let air_mass = clear::AirMass::new(cos, 0.0).relative;
                let terms = SunTerms::new([sin, 0.0, cos], z, air_mass / I0_W_M2);
                let sky = terms.sky(dni, dhi);
                let t = tilt_deg(Head::Walls, &terms, &sky).to_radians();
                let difference = |t: f64| {
                    let ramp = |off: f64| {
                        let reach = libm::tan(SHADOW_DEG.to_radians());
                        libm::cos(off) * (libm::tan(off) / reach).clamp(-1.0, 1.0)
                    };
                    // The glow's disc in strips.
                    let radius = 15_f64.to_radians();
                    let (mut glow, mut weight) = (0.0, 0.0);
                    for k in 0..64 {
                        let x = (f64::from(k) + 0.5) / 32.0 - 1.0;
                        let w = (1.0 - x * x).sqrt();
                        glow += w * ramp(z - t + radius * x);
                        weight += w;
                    }
                    dni * ramp(z - t) + sky.circumsolar_w_m2 * glow / weight
                        - 0.5 * (sky.dome_w_m2 - ALBEDO * sky.global_w_m2) * (1.0 - libm::cos(t))
                        + sky.horizon_w_m2 * libm::sin(t)
                };
                let off = 2_f64.to_radians();
                let (before, after) = (difference((t - off).max(0.0)), difference(t + off));
                assert!(before >= -1e-9 && after <= 0.0, "{zenith_deg} {dni} {dhi}: {before} {after}");
                found += 1;
            }
        }
    }
    assert_eq!(found, 75);
    let terms = SunTerms::new([0.6, 0.0, 0.8], libm::acos(0.8), 1.25 / I0_W_M2);
    let blind = HeadOptics { shadow_tan: 0.3, glow_seen: 0.0 };
    let aim = balance(Head::Walls, &blind, &terms.sky(0.0, 250.0), &terms, ALBEDO, &OpenSky::default());
    assert!((aim.direction[2] - 1.0).abs() < 1e-9 && aim.found, "{:?}", aim.direction);
}

/// How far unlike cells draw the aim off balance, where that is less than 10°: a share of it, for the closed form takes the dead band's
/// line. The file's offsets of walls under weak light are lopsided, because their sense of up is quadratic.
fn mismatch(part: &str, head_of_part: Head, tolerance: f64) {
    let mut check = Check::open("computed/05j_head_mismatch.csv").part(part);
    check.compare(|line| {
        let offset = line.number("offset_deg");
        if head(line) != head_of_part || offset.abs() > 10.0 {
            return Vec::new();
        }
        let (terms, sky) = sky(line);
        let aim = balanced(head_of_part, &terms, &sky);
        let share = line.number("m") / (1.0 - line.number("q"));
        let off = DeadBand::of_mismatch(head_of_part, share, 45.0, SHADOW_DEG);
        let ours = off.under(head_of_part, aim.telling_w_m2, aim.shared_w_m2).to_degrees();
        vec![(
            format!("{part}, {}, {share}: {ours:.2} for {offset:.2}", line.text("sky")),
            (ours - offset) / offset.abs(),
        )]
    });
    check.report(tolerance, "of the offset");
}

#[test]
fn unlike_cells_behind_walls() {
    mismatch("walls", Head::Walls, 0.5);
}

#[test]
fn unlike_cells_that_are_tilted() {
    mismatch("tilted", Head::Tilted, 0.2);
}

#[test]
fn unlike_cells_back_to_back() {
    mismatch("back to back", Head::BackToBack, 0.25);
}

/// Whether a head hunts is exact; how long its motors run, to a few hundredths.
#[test]
fn hunting_by_overshoot() {
    let share = |line: Line<'_>| {
        let [speed, delay, band, coast] =
            ["speed_dps", "delay_s", "band_deg", "coast_deg"].map(|column| line.number(column));
        single_unit::overshoot_share((speed, delay, coast), band)
    };
    let mut hunts = Check::open("computed/05k_hunting.csv").part("whether it hunts");
    hunts.compare(|line| {
        let ours = f64::from(u8::from(share(line) > 0.0));
        vec![(format!("at {} deg/s", line.text("speed_dps")), ours - line.number("hunts"))]
    });
    hunts.report(0.0, "answers");
    let mut duty = Check::open("computed/05k_hunting.csv").part("time the motors run");
    duty.compare(|line| {
        vec![(format!("at {} deg/s", line.text("speed_dps")), share(line) - line.number("motor_duty"))]
    });
    duty.report(0.02, "of the time");
}

#[test]
fn hunting_by_noise() {
    for (part, column, tolerance) in
        [("formula", "share_outside_exact", 1e-6), ("simulation", "share_outside_sim", 0.005)]
    {
        let mut check = Check::open("computed/05l_contrast_noise.csv").part(part);
        check.compare(|line| {
            let ours = single_unit::noise_share(0.05, 0.05 * line.number("sd_over_band"), 0.0);
            vec![(format!("{column}, {}", line.text("sd_over_band")), ours - line.number(column))]
        });
        check.report(tolerance, "of the time");
    }
    // Passing clouds make five times the noise.
    let [calm, passing] = [0.0, 1.0].map(|patchy| single_unit::noise_share(0.05, 0.004, patchy));
    assert!(calm < 1e-20 && (passing - 0.012419).abs() < 1e-5, "{calm} {passing}");
}

/// Over ground that is brighter than the sky, with a weak beam, the head looks below the horizon on the sun's side.
#[test]
fn bright_ground_draws_a_head_down() {
    let terms = SunTerms::new([0.6, 0.0, 0.8], libm::acos(0.8), 1.25 / I0_W_M2);
    let sky = Sky { global_w_m2: 300.0, horizon_w_m2: 0.0, sunward_w_m2: 0.0, ..terms.sky(1.0, 100.0) };
    let optics = HeadOptics { shadow_tan: 0.3, glow_seen: 0.0 };
    let aim = balance(Head::Walls, &optics, &sky, &terms, 0.98, &OpenSky::default());
    let [east, _, up]: [f64; 3] = aim.direction;
    assert!(east > 0.0 && up < -0.5 && (east * east + up * up - 1.0).abs() < 1e-9, "{:?}", aim.direction);
}
