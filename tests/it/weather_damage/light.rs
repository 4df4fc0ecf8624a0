//! Damage to the light of a file: columns, clock, instants, units and dead sensors.

use super::*;

#[test]
fn columns_of_light_in_the_wrong_order_are_named() {
    let good = epw();
    let order = |from: [usize; 3]| {
        with_rows(&good, EPW_HEAD, |_, fields| {
            let values = from.map(|k| fields[k].clone());
            for (column, value) in [GHI, DNI, DHI].into_iter().zip(values) {
                fields[column] = value;
            }
        })
    };
    for (from, hold) in [
        ([DNI, GHI, DHI], "hold DNI, GHI, DHI"),
        ([DHI, DNI, GHI], "hold DHI, DNI, GHI"),
        ([GHI, DHI, DNI], "hold GHI, DHI, DNI"),
        ([DNI, DHI, GHI], "hold DNI, DHI, GHI"),
        ([DHI, GHI, DNI], "hold DHI, GHI, DNI"),
    ] {
        let text = order(from);
        refused("order of columns", text.as_bytes(), "GHI, DNI and DHI are in the wrong order");
        refused("order of columns", text.as_bytes(), hold);
    }
    load_from_bytes(Path::new("good"), order([GHI, DNI, DHI]).as_bytes()).unwrap_or_else(|p| panic!("{p}"));
}

#[test]
fn place_and_clock_must_agree_with_the_sun() {
    let good = epw();
    let swap = |from: &str, to: &str| good.replacen(from, to, 1).into_bytes();
    refused(
        "longitude sign",
        &swap("-87.92", "87.92"),
        "check the sign of the hours from UTC (+6 h from UTC would fit) and that of the longitude (longitude -87.92° would fit)",
    );
    refused("sign of the clock", &swap(",-6.0,", ",6.0,"), "check the sign of the hours from UTC (-6 h");
    // The longitude's sign alone, where the clock's would not mend it.
    refused(
        "longitude sign, clock in UTC",
        &swap("-87.92,-6.0", "87.92,0.0"),
        "the clock disagrees with the sun",
    );
    refused(
        "latitude sign",
        &swap(",41.98,", ",-41.98,"),
        "latitude 41.98° would fit: check the sign of the latitude",
    );
    refused("clock 3 h off", &swap(",-6.0,", ",-3.0,"), "a clock -6 h from UTC would fit");
    refused("clock in UTC", &swap(",-6.0,", ",0.0,"), "the clock disagrees with the sun");
    // Every value an hour earlier: labels at the start of the hours.
    let lines: Vec<String> = good.lines().map(str::to_owned).collect();
    let shifted = with_rows(&good, EPW_HEAD, |k, fields| {
        let next = &lines[EPW_HEAD + (k + 1) % 8760];
        let values: Vec<&str> = next.split(',').collect();
        for column in [GHI, DNI, DHI] {
            fields[column] = values[column].to_owned();
        }
    });
    let said = match load_from_bytes(Path::new("damaged"), shifted.as_bytes()) {
        Ok(year) => year.warnings.join("; "),
        Err(problems) => problems.to_string(),
    };
    assert!(said.contains("the values fit the sun 31 min after the end of their hour"), "{said}");
    // The same without beam to tell by.
    let shifted = with_rows(&shifted, EPW_HEAD, |_, fields| {
        fields[DNI] = "9999".into();
        fields[DHI] = "9999".into();
    });
    refused("labels at the start", shifted.as_bytes(), "hours labelled by their start would explain this");
}

#[test]
fn values_of_an_instant_after_the_hour_are_found_and_used() {
    // A satellite-made year: each row holds the irradiance 12 min after its label.
    let good = taken("good", epw().as_bytes(), "rain");
    let sun = stilldays::weather::file::year_sun::YearSun::new(&good.place);
    let mut slot = 0;
    let moved = with_rows(&epw(), EPW_HEAD, |k, fields| {
        slot = k;
        let up = sun.up(k, 12.0).max(0.0);
        let beam = if up > 0.05 { 700.0 } else { 0.0 };
        fields[DNI] = beam.to_string();
        fields[DHI] = (100.0 * up).to_string();
        fields[GHI] = (100.0 * up + beam * up).to_string();
    });
    assert_eq!(slot, 8759);
    let year = taken("satellite", moved.as_bytes(), "12 min after the end of their hour");
    let closure = year.closure.expect("there is beam");
    assert_eq!(closure.offset_min, 12.0);
    assert!(closure.rms_w_m2 < 5.0 && closure.rms_at_middle_w_m2 > 30.0, "{closure:?}");
}

#[test]
fn impossible_light() {
    let good = epw();
    let cloned = |change: fn(usize, &mut Vec<String>)| with_rows(&good, EPW_HEAD, change).into_bytes();
    refused("no light", &cloned(|_, f| f[GHI] = "0".into()), "GHI is 0 or missing in every row");
    refused("no values", &cloned(|_, f| f[GHI] = "9999".into()), "GHI is 0 or missing in every row");
    refused(
        "far too bright",
        &cloned(|_, f| {
            f[GHI] = (2.5 * number(f, GHI)).min(1790.0).to_string();
            (f[DNI], f[DHI]) = ("9999".into(), "9999".into());
        }),
        "GHI above the physical limit",
    );
    let night = taken(
        "night values",
        &cloned(|_, f| {
            if f[GHI] == "0" {
                f[GHI] = "-9".into()
            }
        }),
        "irradiance below zero was set to 0 (worst: -9 W/m² in line 9)",
    );
    assert_eq!(night.ghi_kwh_m2().round(), 1407.0);
    let one = taken(
        "one bright row",
        &cloned(|k, f| {
            if k == 4000 {
                f[GHI] = "1700".into()
            }
        }),
        "line 4009: GHI above the physical limit",
    );
    assert!(one.hours[4000].is_none() && one.hours.iter().flatten().count() == 8759);
    let beam = taken(
        "beam at night",
        &cloned(|k, f| {
            if k < 24 && f[GHI] == "0" {
                f[DNI] = "300".into()
            }
        }),
        "DNI above 0 while the sun is down; set to 0",
    );
    assert_eq!(beam.hours[0].map(|h| h.dni_w_m2), Some(0.0));
    let light = taken(
        "light at night",
        &cloned(|k, f| {
            if k == 0 {
                f[GHI] = "200".into()
            }
        }),
        "line 9: GHI above 10 W/m² while the sun is down; set to 0",
    );
    assert_eq!(light.hours[0].map(|h| h.ghi_w_m2), Some(0.0));
    refused(
        "beam in every night",
        &cloned(|_, f| {
            if f[GHI] == "0" {
                f[DNI] = "300".into()
            }
        }),
        "too many impossible rows",
    );
}

#[test]
fn units_of_light_and_worn_sensors() {
    let good = epw();
    let light = [GHI, DNI, DHI];
    let said = "GHI looks as if it were in";
    refused("kW/m²", &scaled(&good, &light, 1e-3), "in kW/m²: multiply the irradiances by 1000");
    refused(
        "MJ/m²",
        &scaled(&good, &light, 3.6e-3),
        "in MJ/m² in the hour: multiply the irradiances by 277.8",
    );
    refused("langleys", &scaled(&good, &light, 0.086), said);
    refused("BTU", &scaled(&good, &light, 0.317), said);
    taken("a sensor at 60 %", &scaled(&good, &light, 0.6), "a shaded, dirty or wrongly scaled sensor");
    refused("one sensor at 60 %", &scaled(&good, &[GHI], 0.6), "of what the other two add up to");
    refused("one sensor in kW/m²", &scaled(&good, &[GHI], 1e-3), "in kW/m²");
    for (a, b, names) in [(GHI, DNI, "GHI and DNI"), (GHI, DHI, "GHI and DHI"), (DNI, DHI, "DNI and DHI")] {
        let exchanged = with_rows(&good, EPW_HEAD, |_, f| f.swap(a, b));
        refused(names, exchanged.as_bytes(), "the columns of GHI, DNI and DHI are in the wrong order");
    }
}

#[test]
fn sensors_that_read_exactly_zero_for_weeks() {
    let good = epw();
    let weeks = 150 * 24..199 * 24;
    let dead = |column: usize| {
        with_rows(&good, EPW_HEAD, |k, f| {
            if weeks.contains(&k) {
                f[column] = "0".into()
            }
        })
    };
    let year = taken("dead pyranometer", dead(GHI).as_bytes(), "GHI is exactly 0 for 49 whole days");
    assert!(year.hours[weeks.clone()].iter().all(Option::is_none));
    assert_eq!(year.hours.iter().flatten().count(), 8760 - 49 * 24);
    let year = taken("dead diffuse sensor", dead(DHI).as_bytes(), "DHI is exactly 0");
    assert!(year.hours[weeks.clone()].iter().flatten().any(|h| h.dhi_w_m2 > 100.0));
    let year = taken("dead beam sensor", dead(DNI).as_bytes(), "DNI is exactly 0");
    assert!(year.hours[weeks].iter().flatten().any(|h| h.dni_w_m2 > 500.0));
}
