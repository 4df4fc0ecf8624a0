//! The summary of a run: its numbers, and the design, weather, seed and command they come from. The numbers are computed
//! in [`crate::tally::summarise`].

use super::oddities::oddities;
use super::plan::Plan;
use super::site::SiteModel;
use crate::design;
use crate::tally::summary::{DesignId, Input, RunInfo, WeatherId};
use crate::tally::{self, Meta, Summary, Tally};

/// Every number of a run; `None` before the first trial. `command` makes it again. How long the run took is no part of it: equal runs give equal
/// bytes.
pub fn summarise(plan: &Plan, tally: &Tally, seed: u64, command: String) -> Option<Summary> {
    let days = tally.trials() * plan.scene.days.len() as u64;
    let run = RunInfo { trials: tally.trials(), days, seed, version: crate::VERSION.to_owned(), command };
    let file = &plan.file;
    let inputs = file
        .inputs
        .iter()
        .map(|i| Input {
            key: i.key.clone(),
            value: i.value.clone(),
            origin: if i.given { "given" } else { "default" }.to_owned(),
        })
        .collect();
    let meta = Meta {
        run,
        design: DesignId {
            title: file.design.title.clone(),
            file: file.path.display().to_string(),
            sha256: file.sha256.clone(),
            price: file.design.price(),
            currency: file.design.currency.clone(),
        },
        weather: weather(plan),
        weather_input: plan.site.input(),
        file_ghi_kwh_m2_day: file_ghi(&plan.site),
        inputs,
        warnings: file.warning_lines().into_iter().chain(plan.warnings()).collect(),
        cautions: design::cautions(&file.design),
    };
    let mut summary = tally::summarise(tally, &plan.layout, meta)?;
    summary.warnings.extend(oddities(plan, &summary));
    Some(summary)
}

fn weather(plan: &Plan) -> WeatherId {
    let site = &plan.site;
    let first = &site.years[0];
    let mean = |f: fn(&crate::weather::TypicalYear) -> f64| {
        site.years.iter().map(f).sum::<f64>() / site.years.len() as f64
    };
    let files: Vec<String> = plan.file.design.site.weather.iter().map(|w| w.display().to_string()).collect();
    WeatherId {
        file: files.first().cloned().unwrap_or_default(),
        files,
        sha256: site.sha256.clone(),
        origin: first.origin.clone(),
        invented: site.years.iter().any(|y| y.invented),
        latitude_deg: first.place.latitude_deg,
        longitude_deg: first.place.longitude_deg,
        elevation_m: first.place.elevation_m,
        utc_offset_h: first.place.utc_offset_h,
        ghi_kwh_m2: mean(crate::weather::TypicalYear::ghi_kwh_m2),
        dni_kwh_m2: mean(crate::weather::TypicalYear::dni_kwh_m2),
        closure_offset_min: first.closure.map(|c| c.offset_min),
        closure_rms_w_m2: first.closure.map(|c| c.rms_w_m2),
        turbidity: first.turbidity.to_vec(),
    }
}

/// Mean daily irradiation on the horizontal of the files, kWh/m², by month; none where a month has no hour at all.
fn file_ghi(site: &SiteModel) -> [Option<f64>; 12] {
    let (mut sum_wh, mut hours) = ([0.0; 12], [0u32; 12]);
    for year in &site.years {
        for (slot, hour) in year.hours.iter().enumerate() {
            let month = usize::from(site.calendar.days[slot / 24].month);
            if let Some(hour) = hour {
                sum_wh[month] += hour.ghi_w_m2;
                hours[month] += 1;
            }
        }
    }
    std::array::from_fn(|m| (hours[m] > 0).then(|| sum_wh[m] / f64::from(hours[m]) * 0.024))
}
