//! What lies between two seasons: the fountain stays out without being wanted, or it is taken in.

use crate::design::{Battery, SETTING_UP_DAYS, Winter};
use crate::plant::Scene;
use crate::plant::ageing::calendar;
use crate::study::plan::{Plan, RUN_IN_DAYS};

/// Temperature at which a battery lies that is taken in, °C (own choice: a cellar).
const INDOORS_C: f64 = 15.0;

// What is put out so many days before a season is stepped through the days of its run-in.
const _: () = assert!(SETTING_UP_DAYS == RUN_IN_DAYS);

/// How the days between two seasons pass.
pub(super) enum Between {
    /// There are none: the season is all year.
    Nothing,
    /// All stays out; the pump is off. These are the days.
    Out(Box<Scene>),
    /// Battery, panel, mount and pump are taken in for so many days, and put out again [`RUN_IN_DAYS`] before the next season.
    In { days: usize },
}

impl Between {
    pub(super) fn new(plan: &Plan) -> Between {
        let design = &plan.file.design;
        let season = plan.layout.days.len();
        let days = 365usize.saturating_sub(season);
        if days == 0 {
            return Between::Nothing;
        }
        if design.care.winter == Winter::TakenIn && days > SETTING_UP_DAYS {
            return Between::In { days: days - SETTING_UP_DAYS };
        }
        // Counted from the next season backwards, as the days of the run-in are.
        let first = usize::from(design.wish.season.0);
        let dates = (season..365).map(|k| (((first + k) % 365) as u16, k as i32 - 365));
        let mut scene = Scene::unwanted(design, &plan.scene.calendar, dates);
        scene.ground_c = plan.scene.ground_c;
        Between::Out(Box::new(scene))
    }

    /// Days that are simulated of a year.
    pub(super) fn days_of_year(&self) -> u64 {
        match self {
            Between::Nothing | Between::Out(_) => 365,
            Between::In { days } => 365 - *days as u64,
        }
    }

    /// Days that are simulated after a season.
    pub(super) fn days_out(&self) -> usize {
        if let Between::Out(scene) = self { scene.days.len() } else { 0 }
    }

    pub(super) fn is_taken_in(&self) -> bool {
        matches!(self, Between::In { .. })
    }
}

/// A battery indoors: its state of charge in the end, and the hours at 25 °C that age it as much.
pub(super) fn indoors(battery: &Battery<f64>, soc: f64, days: usize) -> (f64, f64) {
    let (mut soc, mut shelf_h) = (soc, 0.0);
    let kept = calendar::kept_charge(battery.self_discharge_month, INDOORS_C, 24.0);
    for _ in 0..days {
        shelf_h += 24.0 * calendar::rate::<f64>(battery.chemistry, INDOORS_C, soc);
        soc *= kept;
    }
    (soc, shelf_h)
}
