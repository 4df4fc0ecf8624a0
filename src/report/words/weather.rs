//! Sentences on a weather file, shared by terminal and page.

use super::{closure_offset, count};
use crate::report::number;
use crate::report::weather::Described;
use crate::sky::calendar::{DAYS, HOURS};
use crate::study::sampled_years::SampledVsFile;
use crate::weather::YearKind;
use crate::weather::file::describe::{DULL_BELOW, Description};

/// What stands for a number that is not there in a table.
pub(crate) const NONE: &str = "-";
/// Stretches of missing hours that are named.
const GAPS_SHOWN: usize = 4;

/// What a file holds of light, in a clause: `925 kWh/m² of light a year on level ground`.
fn light(d: &Description) -> String {
    let over = if d.usable_hours == HOURS { "a year" } else { "over the hours present" };
    format!("{} kWh/m² of light {over} on level ground", number::fixed(d.ghi_kwh_m2, 0))
}

/// The answer in a sentence: of the files as one place, or of the first.
pub(crate) fn headline(d: &Described) -> String {
    if let Some(pool) = &d.pool {
        return format!(
            "{} years of one place: {} kWh/m² of light a year on level ground.",
            pool.files,
            number::fixed(pool.sampled.file_ghi_kwh_m2, 0)
        );
    }
    let Some(first) = d.files.first() else { return "No file could be read.".to_owned() };
    let dull = first.file.dull_days.map_or(String::new(), |share| {
        format!(
            ", and {} of its days are dull, at most {} in a row",
            number::percent(share),
            first.file.longest_dull_run
        )
    });
    let others = match d.files.len() {
        1 => String::new(),
        n => format!(" {} below.", count(n - 1, "more file")),
    };
    format!("The file has {}{dull}.{others}", light(&first.file))
}

/// How the years that a run draws compare with the files, in a sentence or two.
pub(crate) fn drawn(d: &Described) -> Option<String> {
    let s = d.pool.as_ref().map(|p| &p.sampled).or_else(|| d.files.first().map(|f| &f.sampled))?;
    let dull = s.spells.first().map_or(String::new(), |spell| {
        format!(
            " In nine of ten, the longest run of days with a clearness below {} is at most {}.",
            spell.clearness_below,
            days(spell.p90)
        )
    });
    Some(format!(
        "Years that a run draws from {} get {} of that light on average, and differ from one another by {} (coefficient of variation).{dull}",
        if d.pool.is_some() { "them" } else { "it" },
        number::percent(s.sampled_ghi_kwh_m2 / s.file_ghi_kwh_m2),
        number::percent(s.annual_variation)
    ))
}

/// Days of a quantile: whole, or half way between.
pub(crate) fn days(x: f64) -> String {
    number::fixed(x, usize::from(x.fract() != 0.0))
}

/// Latitude, longitude, height and clock.
pub(crate) fn place(d: &Description) -> String {
    let side = |deg: f64, plus: &str, minus: &str| {
        format!("{}° {}", number::given(deg.abs()), if deg < 0.0 { minus } else { plus })
    };
    let utc = match d.utc_offset_h {
        0.0 => "UTC".to_owned(),
        h => format!("UTC{}{}", if h < 0.0 { "-" } else { "+" }, number::given(h.abs())),
    };
    format!(
        "{}, {}, {} m above the sea; standard time {utc}.",
        side(d.latitude_deg, "N", "S"),
        side(d.longitude_deg, "E", "W"),
        number::given(d.elevation_m)
    )
}

/// What a file is, and what to do if it is not.
pub(crate) fn kind(kind: YearKind) -> &'static str {
    match kind {
        YearKind::Typical => {
            "taken for a typical one, of months from several years. If it was measured as it is, say weather_years = \"measured\" in [site] of the design."
        }
        YearKind::Real => {
            "one as it was measured. If it is a typical one, say weather_years = \"typical\" in [site] of the design."
        }
    }
}

/// Usable hours, and what is missing.
pub(crate) fn hours(d: &Description) -> String {
    let whole = format!("{} of {DAYS} days whole", d.whole_days);
    if d.missing.is_empty() {
        return format!("all {HOURS} hours usable, {whole}.");
    }
    let named = d.missing.iter().take(GAPS_SHOWN).cloned().collect::<Vec<_>>().join(", ");
    let more = match d.missing.len().saturating_sub(GAPS_SHOWN) {
        0 => String::new(),
        n => format!(" and {n} more stretches (--json has all)"),
    };
    format!("{} of {HOURS} hours usable, {whole}; missing: {named}{more}.", d.usable_hours)
}

/// Share and longest run of dull days.
pub(crate) fn dull_days(d: &Description) -> String {
    match d.dull_days {
        None => format!("share {}: no whole day with light.", number::NOT_COMPUTABLE),
        Some(share) => format!(
            "{} of days get less than {} of the light above the atmosphere (clearness below {DULL_BELOW}); the longest run is {} days.",
            number::percent(share),
            number::percent(DULL_BELOW),
            d.longest_dull_run
        ),
    }
}

/// Temperature, wind and rain.
pub(crate) fn air(d: &Description) -> String {
    let air = d.air_c.map_or(format!("temperature {}", number::NOT_COMPUTABLE), |[mean, low, high]| {
        format!(
            "{} °C on average, {} to {} °C",
            number::fixed(mean, 1),
            number::fixed(low, 1),
            number::fixed(high, 1)
        )
    });
    let wind = d.wind_m_s.map_or(String::new(), |v| format!("; wind {} m/s", number::fixed(v, 1)));
    let rain = match d.rain_mm {
        None => "; no rain given".to_owned(),
        Some(mm) if d.rain_hours >= d.usable_hours => format!("; rain {} mm", number::fixed(mm, 0)),
        Some(mm) => format!(
            "; rain {} mm, but only {} of {} hours give it",
            number::fixed(mm, 0),
            d.rain_hours,
            d.usable_hours
        ),
    };
    format!("{air}{wind}{rain}.")
}

/// How light and sun agree.
pub(crate) fn clock(d: &Description) -> String {
    let Some(c) = d.closure else {
        return "could not be checked: the file has too few hours with beam and diffuse light.".to_owned();
    };
    let at = closure_offset(Some(c.offset_min));
    let middle = if c.offset_min == -30.0 {
        String::new()
    } else {
        format!("; at the middle {} W/m²", number::two_digits(c.rms_at_middle_w_m2))
    };
    format!(
        "GHI, DNI and DHI agree best with the sun at {at}, within {} W/m² (rms){middle}.",
        number::two_digits(c.rms_w_m2)
    )
}

/// How the clear sky fits.
pub(crate) fn clear_sky(d: &Description) -> String {
    let Some(ratio) = d.clear_ratio_p95 else {
        return "turbidity could not be fitted: the file has no hours with a high sun.".to_owned();
    };
    format!(
        "turbidity fitted month by month; 95 of 100 hours with the sun above 12° lie below {} times the clear sky's GHI (near 1: it fits).",
        number::fixed(ratio, 2)
    )
}

/// `+0.4 %`, by how much the sampled lies off the file's.
pub(crate) fn difference(file: Option<f64>, sampled: f64) -> String {
    let Some(file) = file.filter(|f| *f > 0.0) else { return NONE.to_owned() };
    let p = number::fixed(100.0 * (sampled / file - 1.0), 1);
    let sign = if p.starts_with('-') || p == "0.0" { "" } else { "+" };
    format!("{sign}{p} %")
}

/// How days and minutes of drawn years compare with the file: four sentences.
pub(crate) fn likeness(s: &SampledVsFile) -> [String; 4] {
    [
        format!(
            "the clear-sky indices of one day and the next have a correlation of {} in the file and {} in sampled years.",
            number::fixed(s.file_lag_1, 2),
            number::fixed(s.sampled_lag_1, 2)
        ),
        format!(
            "the distribution of the daily clear-sky index is within {} of the file's (Kolmogorov-Smirnov distance: 0 is the same, 1 has nothing in common).",
            number::fixed(s.daily_index_ks, 3)
        ),
        format!(
            "the beam is bright (above 120 W/m², WMO) in {} of the minutes with the sun up, and in {} of the file's hours, each taken as a whole.",
            number::percent(s.bright_minutes),
            number::percent(s.file_bright_hours)
        ),
        format!(
            "from one minute to the next the clear-sky index moves by more than 0.1 in {} and by more than 0.3 in {} of minutes (sun above 10°); 95 of 100 moves are below {}, 99 below {}. The file has no minutes to compare this with.",
            number::percent(s.ramps.above_0_1),
            number::percent(s.ramps.above_0_3),
            number::fixed(s.ramps.p95, 2),
            number::fixed(s.ramps.p99, 2)
        ),
    ]
}
