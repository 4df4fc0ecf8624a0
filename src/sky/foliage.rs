//! The year of trees that shed their leaves: when they are in leaf, and when their leaves fall.
//!
//! All dates are common practice, no source, but for what height above the sea does: beech, 2.6 days later in leaf and 1.9 days sooner coloured for
//! each 100 m (Čufar et al. 2012, Int. J. Biometeorol. 56:1091). They vary by some eight days from year to year, which is left out.

/// Latitude, °, and the days of the year (0..365) on which trees come into leaf and on which leaves begin to colour, at sea level.
const USUAL: [(f64, f64, f64); 5] = [
    (40.0, 99.0, 297.0),
    (45.0, 109.0, 290.0),
    (50.0, 114.0, 284.0),
    (55.0, 124.0, 277.0),
    (60.0, 137.0, 267.0),
];
/// Days later in leaf and sooner coloured for each metre above the sea.
const LATER_PER_M: f64 = 0.026;
const SOONER_PER_M: f64 = 0.019;
/// Days from the first leaves to full leaf, and from the first colour to bare branches.
const LEAFING_DAYS: f64 = 20.0;
const FALL_DAYS: f64 = 35.0;
const YEAR_DAYS: f64 = 365.0;

/// The year of a tree.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeafYear {
    /// Day of the year on which the first leaves come, 0..365.
    pub leafing: f64,
    /// Day on which they begin to colour and to fall.
    pub colouring: f64,
}

impl LeafYear {
    /// What is usual at a latitude (°, south negative) and height above the sea (m). In the south it is half a year later.
    pub fn usual(latitude_deg: f64, elevation_m: f64) -> LeafYear {
        let north = latitude_deg.abs().clamp(USUAL[0].0, USUAL[USUAL.len() - 1].0);
        let after = USUAL.iter().position(|row| row.0 >= north).unwrap_or(USUAL.len() - 1).max(1);
        let ((l0, a0, c0), (l1, a1, c1)) = (USUAL[after - 1], USUAL[after]);
        let part = (north - l0) / (l1 - l0);
        let half_a_year = if latitude_deg < 0.0 { 0.5 * YEAR_DAYS } else { 0.0 };
        let height_m = elevation_m.clamp(0.0, 2500.0);
        let leafing = a0 + (a1 - a0) * part + LATER_PER_M * height_m + half_a_year;
        let colouring = c0 + (c1 - c0) * part - SOONER_PER_M * height_m + half_a_year;
        LeafYear { leafing: leafing.rem_euclid(YEAR_DAYS), colouring: colouring.rem_euclid(YEAR_DAYS) }
    }

    /// Share of its leaves that a tree has on a day of the year, 0 bare to 1 in full leaf.
    pub fn in_leaf(&self, day_of_year: f64) -> f64 {
        let since = (day_of_year - self.leafing).rem_euclid(YEAR_DAYS);
        let green = (self.colouring - self.leafing).rem_euclid(YEAR_DAYS);
        if since < green {
            return (since / LEAFING_DAYS).min(1.0);
        }
        (1.0 - (since - green) / FALL_DAYS).max(0.0)
    }

    /// Whether leaves fall on a day of the year.
    pub fn leaves_fall(&self, day_of_year: f64) -> bool {
        (day_of_year - self.colouring).rem_euclid(YEAR_DAYS) < FALL_DAYS
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_follow_latitude_height_and_hemisphere() {
        let at = LeafYear::usual;
        assert_eq!(at(45.0, 0.0), LeafYear { leafing: 109.0, colouring: 290.0 });
        let between = at(47.5, 0.0);
        assert!((between.leafing - 111.5).abs() < 1e-9 && (between.colouring - 287.0).abs() < 1e-9);
        assert_eq!(at(30.0, 0.0), at(40.0, 0.0));
        assert_eq!(at(70.0, 0.0), at(60.0, 0.0));
        let high = at(45.0, 500.0);
        assert!((high.leafing - 122.0).abs() < 1e-9 && (high.colouring - 280.5).abs() < 1e-9);
        let south = at(-45.0, 0.0);
        assert!((south.leafing - 291.5).abs() < 1e-9 && (south.colouring - 107.5).abs() < 1e-9);
        assert_eq!(south.in_leaf(0.0), 1.0);
        assert_eq!(south.in_leaf(200.0), 0.0);
    }

    #[test]
    fn leaves_come_and_go_in_their_days() {
        let year = LeafYear { leafing: 100.0, colouring: 290.0 };
        for (day, share) in [
            (99.0, 0.0),
            (100.0, 0.0),
            (110.0, 0.5),
            (120.0, 1.0),
            (289.0, 1.0),
            (307.5, 0.5),
            (325.0, 0.0),
            (0.0, 0.0),
        ] {
            assert!((year.in_leaf(day) - share).abs() < 1e-9, "{day}: {}", year.in_leaf(day));
        }
        let falling = (0..365).filter(|d| year.leaves_fall(f64::from(*d))).count();
        assert_eq!(falling, 35);
        // A year whose fall passes the turn of the year.
        let late = LeafYear { leafing: 120.0, colouring: 350.0 };
        assert!(late.leaves_fall(5.0) && !late.leaves_fall(40.0) && late.in_leaf(5.0) < 1.0);
    }
}
