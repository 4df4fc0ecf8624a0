//! Clear sky, and beam and diffuse out of global irradiance.

use crate::check_file::{Check, relative};
use stilldays::sky::clear::{self, AirMass};
use stilldays::sky::decompose;

#[test]
fn esra_clear_sky() {
    let mut check = Check::open("computed/02a_clear_sky_models.csv");
    check.compare(|line| {
        let zenith = line.number("zenith_deg");
        let (turbidity, height, i0) = (line.number("TL"), line.number("alt_m"), line.number("I0"));
        let up = libm::cos(zenith.to_radians());
        let air = AirMass::new(up, height);
        let sky = clear::esra(i0, up, &air, turbidity);
        let back = clear::turbidity_from_dni(sky.dni_w_m2, i0, zenith.to_radians(), height).unwrap();
        [
            ("m", air.absolute, line.number("esra_m")),
            ("thickness", air.rayleigh_thickness, line.number("esra_deltaR")),
            ("ghi", sky.dni_w_m2 * up + sky.dhi_w_m2, line.number("esra_ghi")),
            ("dni", sky.dni_w_m2, line.number("esra_dni")),
            ("dhi", sky.dhi_w_m2, line.number("esra_dhi")),
            ("turbidity back", back, turbidity),
        ]
        .map(|(what, ours, theirs)| (format!("{what} at {zenith}"), relative(ours, theirs)))
        .into()
    });
    check.report(1e-9, "of the value");
}

#[test]
fn turbidity_from_global_irradiance_is_the_inverse() {
    for (zenith, turbidity) in [(0.2, 2.0), (0.9, 3.3), (1.3, 6.0)] {
        let up = libm::cos(zenith);
        let sky = clear::esra(1367.0, up, &AirMass::new(up, 300.0), turbidity);
        let ghi = sky.dni_w_m2 * up + sky.dhi_w_m2;
        let back = clear::turbidity_from_ghi(ghi, 1367.0, zenith, 300.0).unwrap();
        assert!((back - turbidity).abs() < 1e-9, "{back} {turbidity}");
        assert!(clear::turbidity_from_ghi(2000.0, 1367.0, zenith, 300.0).is_none());
    }
}

#[test]
fn erbs_split() {
    let mut check = Check::open("computed/03_decomposition.csv");
    check.compare(|line| {
        let (ghi, zenith) = (line.number("ghi"), line.number("zenith").to_radians());
        let i0 = clear::extraterrestrial_w_m2(line.number("doy") as u32);
        let split = decompose::erbs(ghi, zenith, i0);
        [
            ("i0", i0, line.number("dni_extra")),
            ("clearness", split.clearness, line.number("erbs_kt")),
            ("dhi", split.dhi_w_m2, line.number("erbs_dhi")),
            ("dni", split.dni_w_m2, line.number("erbs_dni")),
        ]
        .map(|(what, ours, theirs)| (format!("{what} at ghi {ghi}"), relative(ours, theirs)))
        .into()
    });
    check.report(1e-9, "of the value");
}

#[test]
fn erbs_diffuse_fraction() {
    let mut check = Check::open("computed/03b_erbs_fraction.csv");
    check.compare(|line| {
        let k = line.number("kt");
        vec![(format!("k {k}"), relative(decompose::diffuse_fraction(k), line.number("diffuse_fraction")))]
    });
    check.report(1e-9, "of the value");
}

#[test]
fn the_beam_split_off_stays_below_the_cleanest_sky() {
    let zenith = 60_f64.to_radians();
    let split = decompose::erbs_below_clear(700.0, zenith, 1367.0, 0.0);
    let cleanest = clear::esra(1367.0, 0.5, &AirMass::new(0.5, 0.0), 2.0).dni_w_m2;
    assert!((split.dni_w_m2 - cleanest).abs() < 0.01);
    // What is cut off the beam is not lost.
    assert!((split.dni_w_m2 * libm::cos(zenith) + split.dhi_w_m2 - 700.0).abs() < 1e-9);
}
