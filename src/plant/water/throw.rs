//! One drop in the wind: shot straight up from the nozzle, it falls back through moving air.
//!
//! Sphere drag after Schiller & Naumann (1933): C_d = 24/Re (1 + 0.15 Re^0.687) below Re = 1000, 0.44 above; air at 20 °C.

pub(super) const GRAVITY_M_S2: f64 = 9.806_65;
const AIR_KG_M3: f64 = 1.204;
const AIR_PA_S: f64 = 1.81e-5;
const WATER_KG_M3: f64 = 998.0;

/// Longest step, as a share of the time in which drag slows the drop, and of the time it rises without drag. Against steps ten times as short
/// the distance is off by 0.02 % (median of 3,000 throws) and 0.1 % (99 of 100).
const STEP: (f64, f64) = (0.4, 0.1);
/// A drop falls steadily once its acceleration is below this share of gravity's, and its speed against the air sideways below this share
/// of the wind.
const STEADY: f64 = 1e-3;

/// A drop's place and its speed against the air, downwind and up, m and m/s.
#[derive(Clone, Copy)]
struct Drop {
    place: [f64; 2],
    speed: [f64; 2],
}

/// Acceleration, m/s², and the rate of drag, 1/s.
#[derive(Clone, Copy)]
struct Pull {
    acceleration: [f64; 2],
    drag_per_s: f64,
}

/// Downwind landing distance, m, of a drop of a diameter (mm) launched straight up at a speed (m/s) into a wind (m/s); and its apex, m.
/// Runge and Kutta's fourth-order steps up to the fall at an even speed, which is reckoned in one.
pub fn throw(speed_m_s: f64, drop_mm: f64, wind_m_s: f64) -> (f64, f64) {
    let air = Air::new(drop_mm, wind_m_s);
    let mut drop = Drop { place: [0.0; 2], speed: [-wind_m_s, speed_m_s] };
    let mut pull = air.pull(drop.speed);
    let mut apex_m = 0.0;
    loop {
        let step_s = (STEP.0 / pull.drag_per_s).min(STEP.1 * speed_m_s / GRAVITY_M_S2);
        let next = air.step(&drop, &pull, step_s);
        let path = |axis: usize, at: f64| {
            let carried = if axis == 0 { wind_m_s } else { 0.0 };
            let slopes = [drop.speed[axis] + carried, next.speed[axis] + carried].map(|v| v * step_s);
            hermite([drop.place[axis], next.place[axis]], slopes, at)
        };
        if drop.speed[1] > 0.0 && next.speed[1] <= 0.0 {
            apex_m = path(1, drop.speed[1] / (drop.speed[1] - next.speed[1]));
        }
        if next.place[1] <= 0.0 {
            let (mut above, mut below) = (0.0, 1.0);
            for _ in 0..24 {
                let middle = 0.5 * (above + below);
                if path(1, middle) > 0.0 { above = middle } else { below = middle }
            }
            return (path(0, above), apex_m);
        }
        drop = next;
        pull = air.pull(drop.speed);
        let [aside, up] = drop.speed;
        if up < 0.0 && pull.acceleration[1].abs() < STEADY * GRAVITY_M_S2 && aside.abs() <= STEADY * wind_m_s
        {
            let fall_s = drop.place[1] / -up;
            return (drop.place[0] + wind_m_s * fall_s + aside / pull.drag_per_s, apex_m);
        }
    }
}

/// The air around one drop.
struct Air {
    wind_m_s: f64,
    /// Reynolds number for each m/s.
    reynolds_s_m: f64,
    /// Rate of drag without inertia, 1/s; and for each m/s above Re = 1000, 1/m.
    stokes_per_s: f64,
    newton_per_m: f64,
}

impl Air {
    fn new(drop_mm: f64, wind_m_s: f64) -> Air {
        let d = drop_mm * 1e-3;
        Air {
            wind_m_s,
            reynolds_s_m: AIR_KG_M3 * d / AIR_PA_S,
            stokes_per_s: 18.0 * AIR_PA_S / (WATER_KG_M3 * d * d),
            newton_per_m: 0.75 * 0.44 * AIR_KG_M3 / (WATER_KG_M3 * d),
        }
    }

    fn pull(&self, [aside, up]: [f64; 2]) -> Pull {
        let speed = (aside * aside + up * up).sqrt();
        let re = self.reynolds_s_m * speed;
        let drag_per_s = if re < 1000.0 {
            self.stokes_per_s * (1.0 + 0.15 * libm::exp(0.687 * libm::log(re.max(1e-9))))
        } else {
            self.newton_per_m * speed
        };
        Pull { acceleration: [-drag_per_s * aside, -drag_per_s * up - GRAVITY_M_S2], drag_per_s }
    }

    fn step(&self, drop: &Drop, pull: &Pull, step_s: f64) -> Drop {
        let go = |by: [f64; 2], s: f64| [drop.speed[0] + s * by[0], drop.speed[1] + s * by[1]];
        let a1 = pull.acceleration;
        let v2 = go(a1, 0.5 * step_s);
        let a2 = self.pull(v2).acceleration;
        let v3 = go(a2, 0.5 * step_s);
        let a3 = self.pull(v3).acceleration;
        let v4 = go(a3, step_s);
        let a4 = self.pull(v4).acceleration;
        let mut next = *drop;
        for axis in 0..2 {
            let mean = |k: [f64; 4]| (k[0] + 2.0 * k[1] + 2.0 * k[2] + k[3]) / 6.0;
            next.speed[axis] += step_s * mean([a1[axis], a2[axis], a3[axis], a4[axis]]);
            next.place[axis] += step_s * mean([drop.speed[axis], v2[axis], v3[axis], v4[axis]]);
        }
        next.place[0] += step_s * self.wind_m_s;
        next
    }
}

/// Between two values with two slopes (over the whole way between them), at a share of the way: the cubic through all four.
fn hermite([y0, y1]: [f64; 2], [s0, s1]: [f64; 2], at: f64) -> f64 {
    let rest = 1.0 - at;
    let ends = y0 * (1.0 + 2.0 * at) * rest * rest + y1 * (1.0 + 2.0 * rest) * at * at;
    ends + at * rest * (s0 * rest - s1 * at)
}
