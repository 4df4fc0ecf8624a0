//! Days minute by minute: whole, and on any date of the season. The design and its weather are invented.

use std::path::Path;
use std::sync::Arc;
use stilldays::design;
use stilldays::lanes::Isa;
use stilldays::report::{self, Style};
use stilldays::sky::{Calendar, Place};
use stilldays::study::site::SiteModel;
use stilldays::study::traces::{self, Pick};
use stilldays::study::{Engine, Plan};
use stilldays::weather::{DonorPool, Sampler, invent};

const DESIGN: &str = "title = \"basin\"\n[site]\nweather = \"w.csv\"\n\
    [wish]\nseason = \"01-01 to 12-31\"\nhours = \"sunrise to sunset + 1 h\"\njet = \"20 cm\"\n\
    [panel]\nrated_power = \"3 W ± 10 %\"\nopen_circuit_voltage = \"10.8 V\"\n\
    [battery]\nchemistry = \"lithium iron phosphate\"\nvoltage = \"6.4 V\"\ncapacity = \"1 Ah\"\n\
    [pump]\nbench = [[\"6 V\", \"290 mA\", \"430 mm\"]]\n[water]\ntop_up = \"every 7 days\"\n";

/// The design under an invented year that is moved to this latitude.
fn plan(latitude_deg: f64) -> Plan {
    let file = design::parse(Path::new("basin.toml"), DESIGN.to_owned()).unwrap_or_else(|p| panic!("{p}"));
    let climate = invent::parse("starter.toml", invent::STARTER).unwrap_or_else(|p| panic!("{p}"));
    let mut year = invent::year(&climate, 1);
    year.place = Place { latitude_deg, ..year.place };
    let calendar = Arc::new(Calendar::new(year.place, year.turbidity));
    let years = vec![year];
    let pool = DonorPool::new(&years, &calendar);
    let sampler = Sampler::over(pool, &years, Arc::clone(&calendar), design::YearSpread::ByClimate);
    Plan::at(file, Arc::new(SiteModel { sha256: String::new(), years, calendar, sampler }))
}

fn engine() -> Engine<'static> {
    Engine::new(1, Arc::new(rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("a thread")))
}

#[test]
fn a_day_has_all_its_minutes_with_air_battery_and_water() {
    let plan = plan(52.0);
    for date in [20, 171, 300] {
        let t = traces::one(&engine(), &plan, 0, Pick::Date(date)).expect("a day of the season");
        assert_eq!((t.minutes.len(), t.day_of_year), (1440, date));
        for (k, m) in t.minutes.iter().enumerate() {
            assert_eq!(usize::from(m.minute), k);
            assert!((-40.0..50.0).contains(&m.air_c) && (0.0..60.0).contains(&m.wind_m_s));
            assert!(m.battery_c.is_some_and(|c| (-40.0..60.0).contains(&c)) && m.frost_lock.is_some());
            assert!(
                (-1e-6..=t.usable_l * (1.0 + 1e-6)).contains(&m.water_l),
                "{} of {}",
                m.water_l,
                t.usable_l
            );
            assert!(m.soc.is_some_and(|s| (0.0..=1.0 + 1e-6).contains(&s)), "{:?}", m.soc);
            // In the dark a panel has no voltage.
            assert!(m.sun_elevation_deg.is_some() || m.panel_v == 0.0, "minute {k}: {} V", m.panel_v);
        }
        let waking = t.waking();
        assert!(waking.len() < 1440 && waking.iter().any(|m| m.wanted));
    }
    // Without filling the level never rises within a day.
    let t = traces::one(&engine(), &plan, 0, Pick::Date(171)).expect("a day of the season");
    assert!(t.minutes.windows(2).all(|w| w[1].water_l <= w[0].water_l));
}

#[test]
fn a_polar_night_is_a_day_of_the_season_on_which_nothing_is_wanted() {
    let plan = plan(69.65);
    let solstice = 354;
    let t = traces::one(&engine(), &plan, 3, Pick::Date(solstice)).expect("a day of the season");
    assert_eq!((t.minutes.len(), t.sunrise_min, t.sunset_min), (1440, None, None));
    assert!(t.minutes.iter().all(|m| !m.wanted && m.sun_elevation_deg.is_none()));
    let said = report::text::day(&t, &[], Style::PLAIN);
    assert!(said.contains("Nothing is wanted on this day."), "{said}");
    // A month of polar night says so, where a zero would look like a jet that always runs.
    let (_, summary) = crate::common::summed_up(&plan, 16, 1, 1, Isa::detect());
    assert_eq!(summary.months[11].wanted_min, 0.0);
    let said = report::text::run(&summary, None, Style::PLAIN);
    assert!(said.contains("Dec  nothing is wanted in this month"), "{said}");
    let page = report::html::run(&summary, &[], stilldays::units::System::Si);
    assert!(page.contains("nothing wanted") && page.contains("December: nothing is wanted."));
}
