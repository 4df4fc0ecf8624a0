//! The yardstick: the simplest model a practitioner would write, on the same lanes and the same sampled minutes.
//!
//! A panel whose power follows its light and temperature in a straight line, on a mount that looks at once where an ideal head
//! balances; a battery that counts energy; a pump of fixed power between cut-off and reconnect. No diode, no bus, no dead
//! band, no causes, no accounts. What the full model (`one_day`) costs more than the step here is mostly the price of its physics (days,
//! head and weather differ); what the step costs more than a loop written for nothing else is the price of the lanes.
//!
//! `cargo bench --bench cut_down`; items are simulated days (sixteen a step). Round numbers, invented.

#[expect(dead_code, reason = "shared with a bench that needs another part of it")]
#[path = "shared/site.rs"]
mod site;

use divan::counter::ItemsCount;
use site::{Site, donors};
use std::hint::black_box;
use stilldays::design::Head;
use stilldays::lanes::{BLOCK, Isa, Kernel, Lane, RowF64, run};
use stilldays::sky::{CalendarDay, HeadOptics, OpenSky, SunTerms, balance, on_plane};
use stilldays::weather::{BlockDay, BlockKey};

fn main() {
    divan::main();
}

const PANEL_W: f64 = 4.0;
const PER_K: f64 = -0.004;
const SYSTEM: f64 = 0.95;
const ALBEDO: f64 = 0.2;
const COOLING: [f64; 2] = [25.0, 6.84];
const BATTERY_WH: f64 = 10.0;
const CHARGE: f64 = 0.95;
const CUT_OFF_WH: f64 = 2.0;
const RECONNECT_WH: f64 = 6.0;
const PUMP_W: f64 = 2.0;
const STANDBY_W: f64 = 0.01;
/// The jet is wanted from so long after sunrise to so long after sunset, min.
const WANTED_MIN: [f64; 2] = [30.0, 120.0];
const STILL_BELOW_MIN: f64 = 30.0;

/// State that a trial carries from day to day, and its results so far.
#[derive(Clone, Default)]
struct Trials {
    energy_wh: RowF64,
    on: RowF64,
    jet_min: RowF64,
    still_days: RowF64,
}

impl Trials {
    fn full() -> Trials {
        Trials { energy_wh: RowF64::splat(BATTERY_WH), on: RowF64::splat(1.0), ..Trials::default() }
    }
}

/// One day.
struct Step<'a> {
    day: &'a CalendarDay,
    weather: &'a BlockDay,
    power_w: &'a mut Vec<RowF64>,
    trials: &'a mut Trials,
}

impl Kernel for Step<'_> {
    type Out = ();
    #[inline(always)]
    fn run<V: Lane>(self) {
        let c = V::splat;
        let (zero, one) = (c(0.0), c(1.0));
        let Step { day, weather, power_w, trials } = self;
        let open = OpenSky::default();
        let optics = HeadOptics { shadow_tan: one, glow_seen: one };
        power_w.resize(day.minutes.len(), RowF64::default());
        for (k, sun) in day.minutes.iter().enumerate() {
            let terms = SunTerms::from(sun);
            let hour = (day.first + k) / 60;
            for at in (0..BLOCK).step_by(V::N) {
                let sky = terms.sky(V::of(&weather.dni_w_m2[k], at), V::of(&weather.dhi_w_m2[k], at));
                let aim = balance(Head::Tilted, &optics, &sky, &terms, c(ALBEDO), &open);
                let light = on_plane(&sky, terms.sun, aim.direction, zero, c(ALBEDO), &open).total_w_m2();
                let heating = one / (c(COOLING[0]) + c(COOLING[1]) * V::of(&weather.wind_m_s[hour], at));
                let warm = V::of(&weather.air_c[hour], at) + light * heating - c(25.0);
                let power = c(PANEL_W * SYSTEM * 1e-3) * light * (one + c(PER_K) * warm);
                power.max(zero).put(&mut power_w[k], at);
            }
        }
        let (Some(sunrise), Some(sunset)) = (day.sunrise_min, day.sunset_min) else { return };
        let (from, to) = ((sunrise + WANTED_MIN[0]) as usize, (sunset + WANTED_MIN[1]) as usize);
        for at in (0..BLOCK).step_by(V::N) {
            let (mut energy, mut on) = (V::of(&trials.energy_wh, at), V::of(&trials.on, at));
            let mut jet = zero;
            for minute in day.first..to.max(day.first + power_w.len()) {
                let power = match power_w.get(minute - day.first) {
                    Some(row) => V::of(row, at),
                    None => zero,
                };
                let runs = if (from..to).contains(&minute) { on } else { zero };
                jet = jet + runs;
                let over = power - (c(PUMP_W) * runs + c(STANDBY_W));
                let stored = over * c(1.0 / 60.0) * V::select(over.gt(zero), c(CHARGE), one);
                energy = (energy + stored).clamp(zero, c(BATTERY_WH));
                on = V::select(energy.lt(c(CUT_OFF_WH)), zero, on);
                on = V::select(energy.ge(c(RECONNECT_WH)), one, on);
            }
            let night_h = (1440 - (to - day.first).min(1440)) as f64 / 60.0;
            (energy - c(STANDBY_W * night_h)).max(zero).put(&mut trials.energy_wh, at);
            on.put(&mut trials.on, at);
            (V::of(&trials.jet_min, at) + jet).put(&mut trials.jet_min, at);
            let still = V::one_if(jet.lt(c(STILL_BELOW_MIN)));
            (V::of(&trials.still_days, at) + still).put(&mut trials.still_days, at);
        }
    }
}

/// A year of drawn minutes, stepped.
#[divan::bench(args = Isa::available())]
fn sampled_year(bencher: divan::Bencher<'_, '_>, isa: Isa) {
    let site = Site::load();
    let chains = site.chains();
    let (mut weather, mut power_w, mut trials) = (BlockDay::default(), Vec::new(), Trials::full());
    bencher.counter(ItemsCount::new(365 * BLOCK)).bench_local(|| {
        for t in 0..365_usize {
            let key = BlockKey { seed: 1, first_trial: 0, day_index: t };
            site.sampler.fill(isa, key, t as u16, donors(&chains, t), &mut weather);
            let step = Step {
                day: &site.calendar.days[t],
                weather: &weather,
                power_w: &mut power_w,
                trials: &mut trials,
            };
            run(isa, step);
        }
        black_box(&trials);
    });
}

/// One day of May again and again: the step alone.
#[divan::bench(args = Isa::available())]
fn step(bencher: divan::Bencher<'_, '_>, isa: Isa) {
    let site = Site::load();
    let chains = site.chains();
    let (mut weather, mut power_w, mut trials) = (BlockDay::default(), Vec::new(), Trials::full());
    let t = 135;
    let key = BlockKey { seed: 1, first_trial: 0, day_index: t };
    site.sampler.fill(isa, key, t as u16, donors(&chains, t), &mut weather);
    bencher.counter(ItemsCount::new(BLOCK)).bench_local(|| {
        let day = &site.calendar.days[t];
        run(isa, Step { day, weather: &weather, power_w: &mut power_w, trials: &mut trials });
        black_box(&trials);
    });
}
