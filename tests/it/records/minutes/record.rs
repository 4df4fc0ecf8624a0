//! Minute records: GHI and DNI of each minute of a year, and the hours that a weather file of it would hold.

use super::super::folder_of;
use flate2::read::GzDecoder;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use stilldays::sky::clear::extraterrestrial_w_m2;
use stilldays::sky::decompose::erbs_below_clear;
use stilldays::sky::{Calendar, Place};
use stilldays::weather::file::turbidity::{self, FittedTo};
use stilldays::weather::file::year_sun::YearSun;
use stilldays::weather::{Hour, TypicalYear, YearKind};

/// Minutes of a year.
const MINUTES: usize = 525_600;

/// GHI and DNI of each minute of a year.
pub struct Record {
    pub name: String,
    pub place: Place,
    /// NaN where missing.
    pub minutes: Vec<[f64; 2]>,
}

/// Whether a file made from the record has beam, or its reader derives it from GHI.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Beam {
    Measured,
    Derived,
}

/// All records of the folder.
pub fn all() -> Vec<Record> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder_of("minute"))
        .expect("the folder opens")
        .map(|e| e.expect("an entry").path())
        .filter(|p| p.to_string_lossy().ends_with(".csv.gz"))
        .collect();
    paths.sort();
    assert!(!paths.is_empty(), "there is a minute record");
    paths.iter().map(|p| Record::read(p)).collect()
}

impl Record {
    fn read(path: &Path) -> Record {
        let mut text = String::new();
        let file = File::open(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        GzDecoder::new(file).read_to_string(&mut text).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        let head = text.lines().next().unwrap_or_default();
        let number = |key: &str| {
            let rest = head.split(key).nth(1).unwrap_or_else(|| panic!("{}: no {key}", path.display()));
            let end = rest.find(|c: char| !"+-.0123456789".contains(c)).unwrap_or(rest.len());
            rest[..end].parse::<f64>().unwrap_or_else(|e| panic!("{}: {key}: {e}", path.display()))
        };
        let place = Place {
            latitude_deg: number("lat="),
            longitude_deg: number("lon="),
            elevation_m: number("elev_m="),
            utc_offset_h: number("UTC"),
        };
        let minutes: Vec<[f64; 2]> = text
            .lines()
            .filter(|l| l.starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == ','))
            .map(|l| {
                let mut cells = l.split(',').map(|c| c.parse().unwrap_or(f64::NAN));
                [cells.next().unwrap_or(f64::NAN), cells.next().unwrap_or(f64::NAN)]
            })
            .collect();
        assert_eq!(minutes.len(), MINUTES, "a row for each minute of a year");
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        Record { name, place, minutes }
    }

    /// The calendar whose clear sky fits the record, and the record as a weather file of hours.
    pub fn year(&self, beam: Beam) -> (TypicalYear, Arc<Calendar>) {
        let hours = self.hours(&Calendar::new(self.place, [3.5; 12]), beam);
        let sun = YearSun::new(&self.place);
        let fitted_to = match beam {
            Beam::Measured => FittedTo::Dni,
            Beam::Derived => FittedTo::Ghi,
        };
        let turbidity =
            turbidity::fill(turbidity::by_month(&hours, &sun, self.place.elevation_m, -30.0, fitted_to));
        println!("{}, beam {beam:?}: turbidity {turbidity:.2?}", self.name);
        let calendar = Arc::new(Calendar::new(self.place, turbidity));
        let year = TypicalYear {
            kind: YearKind::Real,
            path: "minute data".into(),
            sha256: String::new(),
            format: "minutes",
            origin: "measured".into(),
            invented: false,
            place: self.place,
            hours,
            closure: None,
            turbidity,
            warnings: Vec::new(),
        };
        (year, calendar)
    }

    /// The hours; one that lacks a minute is missing.
    fn hours(&self, calendar: &Calendar, beam: Beam) -> Vec<Option<Hour>> {
        let mut up = vec![0.0; MINUTES];
        for day in &calendar.days {
            for (k, m) in day.minutes.iter().enumerate() {
                up[minute_of_year(calendar, usize::from(day.day_of_year), day.first + k)] = m.up;
            }
        }
        (0..8760)
            .map(|h| {
                let range = 60 * h..60 * h + 60;
                let dark = up[range.clone()].iter().all(|&u| u == 0.0);
                let (mut sums, mut ups, mut lit) = ([0.0; 3], 0.0, 0.0);
                for (i, &[ghi, dni]) in range.clone().zip(&self.minutes[range]) {
                    if !(dark || ghi.is_finite() && dni.is_finite()) {
                        return None;
                    }
                    let (ghi, dni) = if dark { (0.0, 0.0) } else { (ghi.max(0.0), dni.max(0.0)) };
                    sums[0] += ghi / 60.0;
                    sums[1] += dni / 60.0;
                    sums[2] += (ghi - dni * up[i]).max(0.0) / 60.0;
                    (ups, lit) = (ups + up[i], lit + f64::from(up[i] > 0.0));
                }
                if beam == Beam::Derived && !dark {
                    let zenith = libm::acos(f64::min(ups / f64::max(lit, 1.0), 1.0));
                    let i0 = extraterrestrial_w_m2(h as u32 / 24 + 1);
                    let split = erbs_below_clear(sums[0], zenith, i0, self.place.elevation_m);
                    (sums[1], sums[2]) = (split.dni_w_m2, split.dhi_w_m2);
                }
                Some(Hour {
                    ghi_w_m2: sums[0],
                    dni_w_m2: sums[1],
                    dhi_w_m2: sums[2],
                    air_c: 10.0,
                    humidity: 0.7,
                    wind_m_s: 2.0,
                    sky_cover: None,
                    rain_mm: None,
                })
            })
            .collect()
    }
}

/// Where a minute of a day of the calendar stands in the record.
pub fn minute_of_year(calendar: &Calendar, day: usize, minute: usize) -> usize {
    60 * calendar.hour_index(day, minute / 60) + minute % 60
}
