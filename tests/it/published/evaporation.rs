//! Steps toward evaporation against the worked examples of FAO-56.

use crate::check_file::Check;
use stilldays::plant::single_unit::EvaporationDay;
use stilldays::sky::Place;
use stilldays::sky::air::saturation_kpa;

#[test]
fn steps_of_fao_56() {
    let at = |latitude_deg: f64, elevation_m: f64, day: u16| {
        EvaporationDay::new(&Place { latitude_deg, longitude_deg: 0.0, elevation_m, utc_offset_h: 0.0 }, day)
    };
    let (high, south) = (at(0.0, 1800.0, 0), at(-20.0, 0.0, 245));
    let (bangkok, uccle) = (at(13.73, 2.0, 104), at(50.8, 100.0, 186));
    let mut check = Check::open("published/09b_fao56_small.csv");
    check.compare(|l| {
        let e0 = saturation_kpa::<f64>;
        let ours = match l.text("example") {
            "Ex.2 pressure at 1800 m" => high.pressure_kpa,
            "Ex.2 gamma at 1800 m" => high.gamma,
            "Ex.3 e0(24.5)" => e0(24.5),
            "Ex.3 e0(15)" => e0(15.0),
            "Ex.3 es" => 0.5 * (e0(24.5) + e0(15.0)),
            "Ex.8 Ra 20S 3 Sept" => south.extraterrestrial_mj_m2,
            "Ex.17 Ra Bangkok mid-April" => bangkok.extraterrestrial_mj_m2,
            "Ex.17 Rso Bangkok mid-April" => bangkok.clear_mj_m2,
            "Ex.18 Ra Uccle 6 July" => uccle.extraterrestrial_mj_m2,
            "Ex.18 Rso Uccle 6 July" => uccle.clear_mj_m2,
            other => panic!("unknown example {other}"),
        };
        let digits = l.text("printed").split_once('.').map_or(0, |(_, d)| d.len());
        vec![(l.text("example").to_owned(), (ours - l.number("printed")) * libm::exp10(digits as f64))]
    });
    // FAO-56 carries its own rounded steps: one unit of the last printed digit.
    check.report(1.0, "of the last digit");
}
