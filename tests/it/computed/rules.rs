//! Rules of a controller against an exact store, minute by minute: what each does to the hours of a day.

use crate::check_file::Check;
use crate::common::*;
use stilldays::design::*;
use stilldays::plant::RuleAtWork;
use stilldays::plant::single_unit::{RuleMinute, RuledPump};
use stilldays::units::Uncertain;

const FULL_W: f64 = 2.0;
const SLOW_W: f64 = 0.8;
const CUT_OFF: f64 = 0.1;
const RECONNECT: f64 = 0.4;
/// Sun and wanted hours, min.
const SUN: std::ops::Range<u32> = 480..1080;
const WANTED: std::ops::Range<u32> = 540..1320;
/// Hour from which the reserve may be used, min.
const EVENING: u32 = 1080;
const DAYS: usize = 400;

fn threshold(below: f64, ends: f64) -> Threshold<Uncertain> {
    Threshold { by: Measure::Charge, below: Uncertain::exact(below), ends: Uncertain::exact(ends) }
}

fn slow() -> Option<Slow<Uncertain>> {
    Some(Slow { when: threshold(0.6, 0.8), speed: Speed::Share(Uncertain::exact(0.7)) })
}

fn reserve(below: f64, ends: f64) -> Option<Reserve<Uncertain>> {
    Some(Reserve { when: threshold(below, ends), until: DayTime::Clock(f64::from(EVENING)) })
}

fn hold(latest_min: u32) -> Option<Hold<Uncertain>> {
    let until = Some((Measure::Charge, Uncertain::exact(0.6)));
    Some(Hold { until, for_mount: false, latest: DayTime::Clock(f64::from(latest_min)) })
}

/// The rules of a case.
fn rules(case: &str) -> Control<Uncertain> {
    let none = Control::default();
    match case {
        "no rule; much sun" | "no rule; short" => none,
        "slow below 60 back at 80" | "slow below 60 back at 80; less sun" => Control { slow: slow(), ..none },
        "rest: a third on below 60; back at 80" => {
            let rest = Some(Rest { when: threshold(0.6, 0.8), on_min: 5.0, off_min: 10.0 });
            Control { rest, ..none }
        }
        "reserve 50/55 until 18" => Control { reserve: reserve(0.5, 0.55), ..none },
        "reserve 30/35 until 18" => Control { reserve: reserve(0.3, 0.35), ..none },
        "hold until 60" => Control { hold: hold(1440), ..none },
        "hold until 60; at the latest 12" => Control { hold: hold(720), ..none },
        "slow and reserve" => Control { slow: slow(), reserve: reserve(0.5, 0.55), ..none },
        other => panic!("no rules for {other}"),
    }
}

/// Minutes and Wh of the days that count.
#[derive(Default)]
struct Sums {
    full: f64,
    slow: f64,
    rest: f64,
    hold: f64,
    reserve: f64,
    empty: f64,
    evening: f64,
    spill_wh: f64,
    pumped_wh: f64,
}

/// The rules on a store of `c_wh` under a sun of `sun_w`; means of a day over the last half.
fn simulated(control: Control<Uncertain>, c_wh: f64, sun_w: f64) -> Sums {
    let latest_min = match control.hold.map(|h| h.latest) {
        Some(DayTime::Clock(m)) => m as u32,
        _ => 0,
    };
    let mut design = with_battery();
    design.running.control = control;
    let mut pump = RuledPump::new(&nominal(&design));
    let (mut held_wh, mut cut) = (0.5 * c_wh, false);
    let mut sums = Sums::default();
    let share = 2.0 / DAYS as f64;
    for day in 0..DAYS {
        pump.day();
        for minute in 0..1440 {
            let mut unseen = Sums::default();
            let sums = if 2 * day >= DAYS { &mut sums } else { &mut unseen };
            let light = SUN.contains(&minute);
            let (rule, speed) = pump.minute(&RuleMinute {
                charge: held_wh / c_wh,
                volts: 0.0,
                on_target: false,
                morning: light && minute < latest_min,
                before_evening: minute < EVENING,
            });
            cut = held_wh <= CUT_OFF * c_wh || cut && held_wh < RECONNECT * c_wh;
            let mut watts = 0.0;
            if WANTED.contains(&minute) {
                match rule.filter(|r| r.holds()) {
                    _ if cut => sums.empty += share,
                    Some(RuleAtWork::Reserve) => sums.reserve += share,
                    Some(RuleAtWork::Hold) => sums.hold += share,
                    Some(RuleAtWork::Rest) => sums.rest += share,
                    Some(other) => panic!("{other:?}"),
                    None if speed < 1.0 => {
                        watts = SLOW_W;
                        sums.slow += share;
                    }
                    None => {
                        watts = FULL_W;
                        sums.full += share;
                    }
                }
                sums.evening += if minute >= EVENING && watts > 0.0 { share } else { 0.0 };
            }
            held_wh += (if light { sun_w } else { 0.0 } - watts) / 60.0;
            let over_wh = (held_wh - c_wh).max(0.0);
            held_wh -= over_wh;
            sums.spill_wh += over_wh * share;
            sums.pumped_wh += watts / 60.0 * share;
        }
    }
    sums
}

#[test]
fn hours_and_energy_of_each_rule() {
    let mut check = Check::open("computed/08h_rules.csv");
    check.compare(|l| {
        let sums = simulated(rules(l.text("case")), l.number("C_Wh"), l.number("p_W"));
        let hours = [
            ("full_h", sums.full),
            ("slow_h", sums.slow),
            ("rest_h", sums.rest),
            ("hold_h", sums.hold),
            ("reserve_h", sums.reserve),
            ("empty_h", sums.empty),
            ("evening_h", sums.evening),
        ];
        let hours = hours.map(|(name, minutes)| (name, minutes / 60.0));
        // 0.1 h at full power.
        let energy =
            [("spill_Wh", sums.spill_wh), ("pumped_Wh", sums.pumped_wh)].map(|(n, wh)| (n, wh / FULL_W));
        let stated = |name: &str| if name.ends_with("Wh") { l.number(name) / FULL_W } else { l.number(name) };
        hours
            .into_iter()
            .chain(energy)
            .map(|(name, ours)| (format!("{}: {name}", l.text("case")), ours - stated(name)))
            .collect()
    });
    check.report(0.1, "h");
}
