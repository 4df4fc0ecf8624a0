use super::*;

fn at(latitude_deg: f64, longitude_deg: f64, utc_offset_h: f64) -> Calendar {
    let place = Place { latitude_deg, longitude_deg, elevation_m: 50.0, utc_offset_h };
    Calendar::new(place, [3.0; 12])
}

#[test]
fn minutes_agree_with_the_position_computed_for_each() {
    let mut worst: f64 = 0.0;
    let mut rows = 0;
    for (latitude, longitude, offset) in [(55.0, -4.0, 0.0), (-33.9, 151.2, 10.0), (1.3, 103.8, 8.0)] {
        let c = at(latitude, longitude, offset);
        let start = sun::days_since_j2000(REFERENCE_YEAR, 1, 1, f64::from(c.day_start_h) - offset);
        for (d, day) in c.days.iter().enumerate().step_by(17) {
            for (k, m) in day.minutes.iter().enumerate().step_by(13) {
                let t = start + d as f64 + ((day.first + k) as f64 + 0.5) / 1440.0;
                let s = sun::position(latitude, longitude, t);
                let off = (s.east - m.east).abs() + (s.north - m.north).abs() + (s.up - m.up).abs();
                worst = worst.max(off.to_degrees());
                rows += 1;
            }
        }
    }
    println!("calendar against position: {rows} minutes, worst {worst:.2e} deg");
    assert!(rows > 1000 && worst < 1e-4);
}

#[test]
fn days_hold_their_sun_and_their_hours() {
    let c = at(55.0, -4.0, 0.0);
    assert_eq!(c.days.len(), DAYS);
    for day in &c.days {
        let (rise, set) = (day.sunrise_min.unwrap(), day.sunset_min.unwrap());
        let up = day.minutes.len() as f64;
        assert!(rise > 0.0 && rise < day.first as f64 && set > day.first as f64 + up && set < 1440.0);
        // The disc's rim shows some minutes before the centre is up.
        assert!(set - rise - up < 20.0, "{set} - {rise} - {up}");
        let in_slots: usize = (0..24).map(|s| day.minutes_of_slot(s).len()).sum();
        assert_eq!(in_slots, day.minutes.len());
        assert!(day.clear_wh_m2() < day.extraterrestrial_wh_m2());
        assert!(day.minutes.iter().all(|m| m.up > 0.0 && m.dhi_clear_w_m2 > 0.0));
    }
}

#[test]
fn a_day_starts_near_two_in_the_morning_of_the_sun() {
    // Western China keeps the clock of the coast; the Aleutians are far behind theirs.
    for (longitude, offset, start) in [(0.0, 0.0, 2), (76.0, 8.0, 5), (-160.5, -9.0, 4), (179.0, -11.0, 3)] {
        assert_eq!(at(20.0, longitude, offset).day_start_h, start, "{longitude} {offset}");
    }
    let far = at(20.0, 179.0, -11.0);
    assert_eq!(far.hour_index(0, 0), 3);
    let early = at(20.0, 85.0, 0.0);
    assert_eq!((early.day_start_h, early.hour_index(0, 0)), (-4, HOURS - 4));
}

/// Samoa, Chatham and the Line Islands keep the date of the other side of the date line: noon of a day must lie on its own date.
#[test]
fn west_of_the_date_line_a_day_has_its_own_date() {
    for (longitude, offset) in [(-171.8, 13.0), (-176.5, 12.75), (-157.4, 14.0), (0.0, 0.0), (178.0, 12.0)] {
        let c = at(-13.8, longitude, offset);
        let noon_min = {
            let day = &c.days[10];
            0.5 * (day.sunrise_min.unwrap() + day.sunset_min.unwrap())
        };
        let local_h = f64::from(c.day_start_h) + noon_min / 60.0;
        assert!((10.0..15.0).contains(&local_h), "{longitude} {offset}: noon at {local_h} h of its date");
        let at_noon = c.hour_index(10, (noon_min / 60.0) as usize);
        assert_eq!(at_noon / 24, 10, "{longitude} {offset}");
    }
}

#[test]
fn polar_day_polar_night_and_the_short_night_between() {
    let tromso = at(69.65, 18.96, 1.0);
    let (winter, summer) = (&tromso.days[354], &tromso.days[171]);
    assert!(winter.minutes.is_empty() && winter.first == MINUTES);
    assert!(winter.sunrise_min.is_none() && winter.sunset_min.is_none() && winter.civil_dusk_min.is_some());
    assert!(
        summer.minutes.len() == MINUTES && summer.sunset_min.is_none() && summer.civil_dusk_min.is_none()
    );
    // At 65.5 N the midsummer sun is down for an hour about midnight: inside the day.
    let north = at(65.5, 20.0, 1.0);
    let day = &north.days[171];
    assert!(day.minutes.iter().any(|m| m.dhi_clear_w_m2 == 0.0));
    assert!(day.minutes.iter().all(|m| m.up > 0.0 && m.air_mass_per_i0.is_finite()));
    assert!(day.sunrise_min.is_some_and(|r| r < 0.0) && day.sunset_min.is_some_and(|s| s < 1440.0));
}

#[test]
fn turbidity_runs_straight_between_the_middles_of_months() {
    let mut t = [3.0; 12];
    t[5] = 5.0;
    // Mid-June to the nearest half day, and the edges between.
    assert!((turbidity_on(&t, 165) - 5.0).abs() < 0.05);
    assert!((turbidity_on(&t, 150) - turbidity_on(&t, 151)).abs() < 0.1);
    assert_eq!(turbidity_on(&t, 0), 3.0);
    assert_eq!(turbidity_on(&t, 364), 3.0);
    assert_eq!((month_of(0), month_of(58), month_of(59), month_of(364)), (0, 1, 2, 11));
}
