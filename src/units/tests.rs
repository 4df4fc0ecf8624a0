use super::*;

/// Standard uncertainty: the standard deviation of the spread (JCGM 100:2008, 4.3.7 and 4.3.9; a normal one is taken
/// before the cut).
fn standard_uncertainty(q: &Uncertain) -> f64 {
    match q.spread {
        Spread::Exact => 0.0,
        Spread::Normal { sd } => sd,
        Spread::Rectangular { lo, hi } => (hi - lo) / 12f64.sqrt(),
        Spread::Triangular { lo, mode, hi } => {
            ((lo * lo + mode * mode + hi * hi - lo * mode - lo * hi - mode * hi) / 18.0).sqrt()
        }
    }
}

fn ok(text: &str, dimension: Dimension) -> Uncertain {
    parse(text, dimension).unwrap_or_else(|e| panic!("{text}: {e:?}"))
}

#[test]
fn the_four_forms_are_read() {
    use Dimension::*;
    assert_eq!(ok("10 W", Power), Uncertain::exact(10.0));
    let normal = |nominal, sd| Uncertain { nominal, spread: Spread::Normal { sd } };
    for form in ["10 W ± 5 %", "10 ± 0.5 W", "10 W +/- 0.5 W", "10W±5%", "10 W +- 500 mW", " 10000 ± 500 mW "]
    {
        let q = ok(form, Power);
        assert!(
            (q.nominal - 10.0).abs() < 1e-12 && (standard_uncertainty(&q) - 0.25).abs() < 1e-12,
            "{form}"
        );
    }
    assert_eq!(ok("90 % ± 4 %", Share), normal(0.9, 0.02));
    assert_eq!(ok("10 W ± 0 %", Power), Uncertain::exact(10.0));
    assert_eq!(ok("8 to 12 W", Power), Uncertain::between(8.0, 12.0));
    assert_eq!(ok("8000 mW to 12 W", Power), Uncertain::between(8.0, 12.0));
    for form in ["8 to 12 W, likely 9 W", "8 W to 12 W , likely 9", "8 to 12, likely 9 W"] {
        assert_eq!(ok(form, Power), Uncertain::likely(8.0, 9.0, 12.0), "{form}");
    }
    assert_eq!(ok("1.1 ± 0.1", Number), normal(1.1, 0.05));
}

#[test]
fn trade_units_are_read() {
    use Dimension::*;
    for (form, dimension, value) in [
        ("2200 mAh", Charge, 2.2),
        ("12 in", Length, 0.3048),
        ("1 ft", Length, 0.3048),
        ("25 cm", Length, 0.25),
        ("1 gal", Volume, 3.785411784),
        ("1 gal/min", Flow, 3.785411784),
        ("10 ft2", Area, 0.9290304),
        ("50 °F", Temperature, 10.0),
        ("-40 °F", Temperature, -40.0),
        ("18 km/h", Speed, 5.0),
        ("10 mph", Speed, 4.4704),
        ("2 h", Duration, 120.0),
        ("-30 min", Duration, -30.0),
        ("−30 min", Duration, -30.0),
        ("7 d", Duration, 10080.0),
        ("35°", Angle, 35.0),
        ("6 deg/s", AngularSpeed, 6.0),
        ("1e3 mA", Current, 1.0),
        ("150 mΩ", Resistance, 0.15),
        ("-0.35 %/K", TemperatureCoefficient, -0.0035),
        ("25 W/(m² K)", HeatLoss, 25.0),
        ("6.84 W s/(m3 K)", HeatLossByWind, 6.84),
        (".5 V", Voltage, 0.5),
        ("3 % a month", ShareAMonth, 0.03),
        ("8 y", Years, 8.0),
    ] {
        let q = ok(form, dimension);
        assert!((q.nominal - value).abs() < 1e-12 * value.abs().max(1.0), "{form}: {q:?}");
    }
}

#[test]
fn every_example_is_read_in_its_own_base_unit() {
    for dimension in Dimension::ALL {
        let q = ok(dimension.example(), dimension);
        assert_eq!(ok(&text(&q, dimension), dimension), q, "{dimension:?}");
    }
}

#[test]
fn errors_point_at_the_fault() {
    use Dimension::*;
    for (form, dimension, at, words, help) in [
        ("10 V ± 5 %", Power, 3..4, "`V` is a unit of voltage, but a power is expected", "\"10 W\""),
        ("10", Power, 0..2, "a unit is missing", "\"10 W\""),
        ("10 w", Power, 3..4, "`w` is not a unit of power", "did you mean `W`?"),
        ("nan W", Power, 0..3, "`nan` is not a number", ""),
        ("inf", Power, 0..3, "`inf` is not a number", ""),
        ("1e999 W", Power, 0..5, "too large", ""),
        ("1,5 W", Power, 1..2, "comma", "1.5"),
        ("", Power, 0..0, "a number is missing", ""),
        ("W", Power, 0..1, "`W` is not a number", ""),
        ("12 to 8 W", Power, 0..7, "from the lower value to the higher", ""),
        ("8 to 12 W, likely 13 W", Power, 18..20, "outside the range", ""),
        ("8 to 12 W, or so", Power, 10..16, "expected `likely`", ""),
        ("8-12 W", Power, 1..6, "`-12 W` is not a unit", "8 to 12 W"),
        ("10 W ± -1 W", Power, 8..10, "negative", ""),
        ("10 W ±", Power, 7..7, "a number is missing", ""),
        ("20 °C ± 5 %", Temperature, 12..13, "in degrees, not in %", ""),
        ("1.1 V", Number, 4..5, "unexpected unit `V`", ""),
        ("10 W ± 5 V", Power, 10..11, "`V` is a unit of voltage", ""),
    ] {
        let error = parse(form, dimension).expect_err(form);
        assert_eq!(error.span, at, "{form}: {error:?}");
        assert!(error.title.contains(words), "{form}: {error:?}");
        assert!(error.help.contains(help), "{form}: {error:?}");
    }
    assert!(duration_min("30 ± 5 min").is_err());
    assert_eq!(duration_min("0.5 h"), Ok(30.0));
}

#[test]
fn any_text_is_refused_or_read_without_panic() {
    let pieces = [
        "10", " ", "W", "±", "+/-", "to", ",", "likely", "%", "-", "e", ".", "é", "−", "°", "1e", "nan", "m²",
    ];
    arbtest::arbtest(|u| {
        let mut form = String::new();
        for _ in 0..u.int_in_range(0..=9)? {
            form.push_str(u.choose::<&str>(&pieces)?);
        }
        for dimension in [Dimension::Power, Dimension::Number, Dimension::Share, Dimension::Temperature] {
            match parse(&form, dimension) {
                Ok(q) => {
                    assert!(q.lowest().is_finite() && q.lowest() <= q.nominal && q.nominal <= q.highest());
                    let again = ok(&text(&q, dimension), dimension);
                    assert!((again.nominal - q.nominal).abs() <= 1e-12 * q.nominal.abs(), "{form}");
                }
                Err(e) => {
                    assert!(
                        form.is_char_boundary(e.span.start) && form.is_char_boundary(e.span.end),
                        "{form}"
                    );
                }
            }
        }
        Ok(())
    });
}

#[test]
fn quantiles_rise_from_lowest_to_highest_and_have_the_stated_spread() {
    let spreads = [
        ok("10 W ± 20 %", Dimension::Power),
        Uncertain::between(8.0, 12.0),
        Uncertain::likely(8.0, 9.0, 12.0),
    ];
    for q in spreads {
        let n = 20_000;
        let values: Vec<f64> = (0..n).map(|k| q.at((f64::from(k) + 0.5) / f64::from(n))).collect();
        assert!(values.is_sorted());
        assert!((q.at(0.0) - q.lowest()).abs() < 1e-9 && (q.at(1.0) - q.highest()).abs() < 1e-9, "{q:?}");
        let mean = values.iter().sum::<f64>() / f64::from(n);
        let sd = (values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / f64::from(n)).sqrt();
        // Cut at three sd, a normal keeps 0.98658 of its sd: sqrt(1 - 6 φ(3)/(1 - 2 Φ(-3))).
        let kept = if matches!(q.spread, Spread::Normal { .. }) { 0.986_58 } else { 1.0 };
        assert!(
            (sd / standard_uncertainty(&q) - kept).abs() < 1e-4,
            "{q:?}: {}",
            sd / standard_uncertainty(&q)
        );
    }
    assert_eq!(Uncertain::exact(3.0).at(0.2), 3.0);
    assert_eq!(Uncertain::between(8.0, 12.0).at(0.25), 9.0);
    // Triangle 8, 9, 12: the rising side holds a quarter.
    assert!((Uncertain::likely(8.0, 9.0, 12.0).at(0.25) - 9.0).abs() < 1e-12);
}

#[test]
fn values_are_shown_in_units_that_suit_them() {
    use Dimension::*;
    for (value, dimension, si, us) in [
        (0.29, Current, "290 mA", "290 mA"),
        (1.25, Current, "1.25 A", "1.25 A"),
        (0.3048, Length, "30.5 cm", "12 in"),
        (1.5, Length, "1.5 m", "59.1 in"),
        (40.0, Volume, "40 L", "10.6 gal"),
        (10.0, Temperature, "10 °C", "50 °F"),
        (0.125, Share, "12.5 %", "12.5 %"),
        (95.0, Duration, "95 min", "95 min"),
        (240.0, Duration, "4 h", "4 h"),
        (0.2 / 60.0, Duration, "0.2 s", "0.2 s"),
        (0.0, Duration, "0 min", "0 min"),
        (5.0, Speed, "5 m/s", "11.2 mph"),
        (0.0, Power, "0 W", "0 W"),
    ] {
        assert_eq!(show(value, dimension, 3, System::Si), si);
        assert_eq!(show(value, dimension, 3, System::Us), us);
    }
    let q = ok("3 Ah ± 10 %", Charge);
    assert_eq!(show_uncertain(&q, Charge, 3, System::Si), "3 Ah ± 0.3 Ah");
    assert_eq!(show_uncertain(&Uncertain::between(0.1, 0.2), Current, 2, System::Si), "100 to 200 mA");
    let triangle = Uncertain::likely(8.0, 9.0, 12.0);
    assert_eq!(show_uncertain(&triangle, Power, 2, System::Si), "8 to 12 W, likely 9 W");
    assert_eq!(
        [
            significant(123_456.0, 3),
            significant(0.001_234_5, 3),
            significant(9.999, 3),
            significant(f64::NAN, 3)
        ],
        ["123000", "0.00123", "10", "-"]
    );
}
