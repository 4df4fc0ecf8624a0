//! Builds and days for the checks of the plant: invented, in round numbers, from no real place or product.

use std::sync::Arc;
use stilldays::design::*;
use stilldays::lanes::{Isa, RowF32, RowF64};
use stilldays::plant::{
    DayBlock, DayInput, DayTrace, Light, Scene, State, TraceMinute, UnitBlock, step_day, trace_day,
    trace_day_into,
};
use stilldays::sky::{Calendar, Place};
use stilldays::units::Uncertain;
use stilldays::weather::BlockDay;

const fn x(v: f64) -> Uncertain {
    Uncertain::exact(v)
}

/// A 10 W panel on a light-seeking mount, 6.4 V 3 Ah battery, electronic pump with a 25 cm jet wished for.
pub fn with_battery() -> Design {
    Design {
        title: "test build".into(),
        site: Site {
            weather: vec![],
            skyline: vec![],
            trees: Trees::default(),
            albedo: x(0.2),
            weather_years: WeatherYears::ByFile,
            year_spread: YearSpread::None,
        },
        wish: Wish {
            season: (151, 181),
            from: DayTime::Sunrise(30.0),
            to: DayTime::Sunset(120.0),
            jet_m: x(0.25),
            still_below_min: 30.0,
            enough: 0.5,
            dusk_run_min: 60.0,
            dusk_run_wished: true,
            evenings: 0.9,
            pulse_counts_from: 0.5,
            still_days_a_month: 1.0,
            confidence: 0.9,
        },
        panel: panel(),
        mount: mount(),
        battery: Some(battery()),
        electronics: electronics(),
        pump: Pump {
            kind: PumpKind::Electronic,
            bench: [(3.0, 0.11, 0.12), (6.0, 0.29, 0.43)]
                .map(|(v, a, m)| BenchPoint { voltage_v: x(v), current_a: x(a), jet_m: x(m) })
                .to_vec(),
            nozzle: None,
            highest_voltage_v: x(9.0),
            start_voltage_v: x(4.5),
            stop_voltage_v: x(3.5),
            break_away_current_a: x(0.12),
            winding_ohm: x(6.0),
            flow_l_min: x(3.0),
            rated_hours: None,
            blocked_from_day: None,
        },
        running: Running {
            when: RunsWhen::Wanted,
            hours: (DayTime::Sunrise(30.0), DayTime::Sunset(120.0)),
            light_w_m2: x(10.0),
            control: Control::default(),
        },
        water: water(),
        care: Default::default(),
        prices: vec![],
        currency: None,
    }
}

fn panel() -> Panel<Uncertain> {
    Panel {
        technology: CellTechnology::Crystalline,
        front: Front::Glass,
        rated_power_w: x(10.0),
        open_circuit_voltage_v: x(10.8),
        short_circuit_current_a: x(1.25),
        max_power_voltage_v: x(8.8),
        cells: 18,
        ideality: x(1.1),
        low_light: x(0.5),
        soiling: x(0.03),
        blocking_drop_v: x(0.35),
        heat_loss_w_m2_k: x(25.0),
        heat_loss_wind_w_s_m3_k: x(6.84),
        incidence_loss_b0: x(0.05),
        coefficients: Coefficients::default(),
        cable: Cable::default(),
        cover: Cover::default(),
        dirt: Dirt::default(),
        snow: false,
        litter: Litter::default(),
    }
}

fn mount() -> Mount<Uncertain> {
    Mount {
        kind: MountKind::LightSeeking,
        tilt_deg: x(35.0),
        azimuth_deg: x(180.0),
        rest_azimuth_deg: x(90.0),
        rest_tilt_deg: x(45.0),
        tilt_max_deg: x(85.0),
        azimuth_centre_deg: 180.0,
        azimuth_half_range_deg: 180.0,
        speed_deg_s: x(2.0),
        step_deg: x(3.0),
        motor_current_a: x(0.08),
        lowest_voltage_v: x(4.5),
        standby_current_a: x(0.004),
        head: Head::Walls,
        contrast: x(0.05),
        shadow_deg: x(30.0),
        overcast_glow: x(0.5),
        mismatch_tilt: x(0.0),
        mismatch_turn: x(0.0),
        cover_scatter: x(0.0),
        delay_min: x(0.0),
        coast_deg: x(0.0),
        noise: x(0.0),
        cell_tilt_deg: x(45.0),
        dim_w_m2: x(20.0),
        pull_deg: x(8.0),
        rated_hours: None,
        rated_moves: None,
        stuck_from_day: None,
    }
}

fn electronics() -> Electronics<Uncertain> {
    Electronics {
        charging: Charging::Pwm,
        charge_efficiency: x(0.92),
        charge_loss_per_watt: x(0.0),
        tracking: x(1.0),
        charger_draw_a: x(0.0),
        charge_voltage_drift_per_k: x(0.0),
        charge_voltage_v: x(7.2),
        cut_off_v: x(5.8),
        reconnect_v: x(6.4),
        standby_current_a: x(0.003),
        fed_first: FedFirst::Pump,
        charge_current_max_a: x(3.0),
        socket: None,
    }
}

fn water() -> Water<Uncertain> {
    Water {
        area_m2: x(0.5),
        usable_l: x(30.0),
        rim_m: x(0.45),
        wind_share: x(0.4),
        wind_turbulence: x(0.3),
        drop_mm: x(2.0),
        evaporation_factor: x(1.2),
        spray_evaporation: x(0.3),
        top_up: TopUp::Always,
        wind_cut_off_m_s: None,
        ice: None,
        taken_in: None,
    }
}

fn battery() -> Battery<Uncertain> {
    Battery {
        chemistry: Chemistry::LithiumIronPhosphate,
        cells: 2,
        capacity_ah: x(3.0),
        capacity_left: x(0.9),
        resistance_ohm: x(0.08),
        coulombic_efficiency: x(0.99),
        self_discharge_month: x(0.02),
        temperature_lag_h: x(3.0),
        box_absorptance: x(0.0),
        kept_above_freezing: false,
        frost_lock_c: x(0.0),
        frost_unlock_c: x(3.0),
        cycles_at_full_depth: x(692.0),
        cycle_exponent: x(1.44),
        calendar_life_y: x(10.0),
        kibam_c: x(1.0),
        kibam_k_per_h: x(1.0),
    }
}

/// The same with one lithium cell and a 5 V socket, and a panel for it.
pub fn with_socket(d: &mut Design) {
    let Some(b) = d.battery.as_mut() else { return };
    b.chemistry = Chemistry::LithiumIon;
    b.cells = 1;
    b.capacity_ah = x(5.0);
    (d.panel.open_circuit_voltage_v, d.panel.max_power_voltage_v) = (x(6.6), x(5.5));
    (d.panel.short_circuit_current_a, d.panel.cells) = (x(1.98), 10);
    let e = &mut d.electronics;
    (e.charge_voltage_v, e.cut_off_v, e.reconnect_v) = (x(4.15), x(3.2), x(3.5));
    e.socket = Some(Socket {
        voltage_v: x(5.0),
        idle_a: x(0.003),
        loss: x(0.08),
        loss_per_watt: x(0.02),
        lowest_input_v: x(3.2),
        again_v: x(3.5),
        sleeps_below_a: x(0.0),
    });
}

/// The same without a battery.
pub fn direct() -> Design {
    let running = Running { when: RunsWhen::Always, ..with_battery().running };
    Design { battery: None, running, ..with_battery() }
}

/// The unit with every quantity at its nominal value.
pub fn nominal(design: &Design) -> Design<f64> {
    design.map(&mut |_, q| q.nominal)
}

/// An invented place at 45° north.
pub fn calendar() -> Arc<Calendar> {
    static PLACE: std::sync::OnceLock<Arc<Calendar>> = std::sync::OnceLock::new();
    let place = Place { latitude_deg: 45.0, longitude_deg: 15.0, elevation_m: 200.0, utc_offset_h: 1.0 };
    PLACE.get_or_init(|| Arc::new(Calendar::new(place, [3.5; 12]))).clone()
}

/// Kind of day.
#[derive(Clone, Copy)]
pub enum Day {
    /// Clear from rise to set.
    Clear,
    /// Evenly overcast: no beam, this share of the clear sky's global light.
    Overcast(f64),
    /// Beam on and off every ten minutes, half of the light patchy.
    Patchy,
}

/// Weather of a day of the year, the same in each lane.
pub fn weather(calendar: &Calendar, day_of_year: usize, day: Day) -> BlockDay {
    let d = &calendar.days[day_of_year];
    let mut w = BlockDay { pull: vec![[RowF32::splat(0.0); 2]; 144], ..BlockDay::default() };
    for (k, m) in d.minutes.iter().enumerate() {
        let global = m.dni_clear_w_m2 * m.up + m.dhi_clear_w_m2;
        let (dni, dhi) = match day {
            Day::Clear => (m.dni_clear_w_m2, m.dhi_clear_w_m2),
            Day::Overcast(share) => (0.0, share * global),
            Day::Patchy if (k / 10) % 2 == 0 => (m.dni_clear_w_m2, 1.5 * m.dhi_clear_w_m2),
            Day::Patchy => (0.0, 2.0 * m.dhi_clear_w_m2),
        };
        w.dni_w_m2.push(RowF32::splat(dni));
        w.dhi_w_m2.push(RowF32::splat(dhi));
    }
    for h in 0..24 {
        w.air_c[h] = RowF64::splat(18.0 + 6.0 * libm::sin((h as f64 - 7.0) / 24.0 * std::f64::consts::TAU));
        w.wind_m_s[h] = RowF64::splat(2.0);
        w.humidity[h] = RowF64::splat(0.6);
        w.patchy[h] = RowF64::splat(if matches!(day, Day::Patchy) { 1.0 } else { 0.0 });
    }
    if matches!(day, Day::Patchy) {
        for (k, p) in w.pull.iter_mut().enumerate() {
            // A fixed sequence with mean 0 and variance near 1.
            *p = [(k * 7) % 11, (k * 5) % 13].map(|v| RowF32::splat((v as f64 - 5.5) / 3.3));
        }
    }
    w
}

/// A design stepped over days of the same weather.
pub struct Run {
    pub scene: Scene,
    pub units: UnitBlock,
    pub state: State,
    pub out: DayBlock,
    pub index: usize,
    light: Light,
}

impl Run {
    pub fn new(design: &Design) -> Run {
        let scene = Scene::new(design, &calendar(), 0);
        let units = UnitBlock::new(&[nominal(design)]);
        let state = units.start_state();
        Run { scene, units, state, out: DayBlock::new(), index: 0, light: Light::default() }
    }

    /// Steps some days.
    pub fn days(&mut self, days: usize, day: Day) -> &DayBlock {
        self.days_on(Isa::PLAIN, days, day)
    }

    pub fn days_on(&mut self, isa: Isa, days: usize, day: Day) -> &DayBlock {
        for _ in 0..days {
            let of_year = usize::from(self.scene.days[self.index].day_of_year);
            let w = weather(&self.scene.calendar, of_year, day);
            self.step(isa, self.index, &w);
            self.index += 1;
        }
        &self.out
    }

    /// Steps one day of the scene in this weather.
    pub fn step(&mut self, isa: Isa, index: usize, weather: &BlockDay) {
        let Run { scene, units, light, state, out, .. } = self;
        light.compute(isa, scene, index, units, weather);
        step_day(isa, DayInput { scene, index, units, weather, light }, state, out);
    }

    /// Steps one day, watched.
    pub fn watched(&mut self, day: Day) -> DayTrace {
        let of_year = usize::from(self.scene.days[self.index].day_of_year);
        let w = weather(&self.scene.calendar, of_year, day);
        let Run { scene, units, light, index, state, out } = self;
        light.compute(Isa::PLAIN, scene, *index, units, &w);
        let input = DayInput { scene, index: *index, units, weather: &w, light };
        let alone = trace_day(input, 0, state.clone());
        let t = trace_day_into(input, 0, state, out);
        let read = |t: &DayTrace| -> Vec<[u64; 4]> {
            let of =
                |m: &TraceMinute| [m.jet_m, m.panel_a, m.plane_w_m2, m.aim_azimuth_deg].map(f64::to_bits);
            t.minutes.iter().map(of).collect()
        };
        assert!(read(&alone) == read(&t), "a lane by itself is stepped otherwise than among others");
        *index += 1;
        t
    }
}

/// A demo design with another season.
pub fn short_season(name: &str, season: &str, sites: &stilldays::study::Sites) -> stilldays::study::Plan {
    altered(name, season, &[], sites)
}

/// A demo design with another season and some lines replaced: each pair is the start of a line and its replacement.
pub fn altered(
    name: &str,
    season: &str,
    lines: &[(&str, &str)],
    sites: &stilldays::study::Sites,
) -> stilldays::study::Plan {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("scenarios/{name}.toml"));
    let text = std::fs::read_to_string(&path).unwrap();
    let season = format!("[wish]\nseason = \"{season}\"");
    let lines: Vec<(&str, &str)> =
        [("season = ", ""), ("[wish]", season.as_str())].into_iter().chain(lines.iter().copied()).collect();
    let mut met = vec![false; lines.len()];
    let text: String = text
        .lines()
        .map(|line| {
            let at = lines.iter().position(|(begins, _)| line.starts_with(begins));
            at.map_or(line, |at| {
                met[at] = true;
                lines[at].1
            })
            .to_owned()
                + "\n"
        })
        .collect();
    assert!(met[1..].iter().all(|m| *m), "{name} lacks one of {lines:?}");
    stilldays::study::Plan::new(
        stilldays::design::parse(&path, text).unwrap_or_else(|p| panic!("{p}")),
        sites,
    )
    .unwrap_or_else(|p| panic!("{p}"))
}

/// Simulates a plan and returns its tally and summary.
pub fn summed_up(
    plan: &stilldays::study::Plan,
    trials: u64,
    seed: u64,
    threads: usize,
    isa: Isa,
) -> (stilldays::tally::Tally, stilldays::tally::summary::Summary) {
    use stilldays::study::Engine;
    use stilldays::study::run::Until;
    use stilldays::study::simulate::run_trials;
    let pool = Arc::new(rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap());
    let engine = Engine { isa, ..Engine::new(seed, pool) };
    let tally = run_trials(&engine, plan, Until::Trials(trials)).state.tally;
    assert_eq!(tally.trials(), trials);
    let summary = stilldays::study::summary::summarise(plan, &tally, seed, "stilldays run".into())
        .expect("some trials");
    (tally, summary)
}
