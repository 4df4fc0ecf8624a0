//! `[mount]`: what carries the panel: fixed, following the computed sun, or seeking the light.

/// What carries the panel. All fields exist for all kinds; the checker fills in what a kind
/// does not use.
#[derive(Clone, Debug, PartialEq)]
pub struct Mount<N> {
    /// How it decides where to look.
    pub kind: MountKind,
    /// Tilt from the horizontal, °: where a fixed mount looks, 0..=90.
    pub tilt_deg: N,
    /// Azimuth, °: where a fixed mount looks.
    pub azimuth_deg: N,
    /// Where a moving mount waits for morning: azimuth ° (default 90, east).
    pub rest_azimuth_deg: N,
    /// Where a moving mount waits for morning: tilt ° (default 45).
    pub rest_tilt_deg: N,
    /// Steepest tilt the mount reaches, °.
    pub tilt_max_deg: N,
    /// Azimuths it reaches: centre ° and half-width ° (180: all round).
    pub azimuth_centre_deg: f64,
    /// Half-width of the azimuths it reaches, °.
    pub azimuth_half_range_deg: f64,
    /// Speed of the motors, °/s.
    pub speed_deg_s: N,
    /// Smallest move a sun-following mount makes, °.
    pub step_deg: N,
    /// Current of the motors while they turn, A.
    pub motor_current_a: N,
    /// Supply voltage below which the motors stall, V.
    pub lowest_voltage_v: N,
    /// Draw of the sensor board or clock, all day and night, A.
    pub standby_current_a: N,
    /// Sensor head of a light-seeking mount.
    pub head: Head,
    /// Contrast of opposed cells below which the head stays put, share (dead band).
    pub contrast: N,
    /// Angle at which the walls' shadow covers a whole cell, °: wider shadows track better.
    pub shadow_deg: N,
    /// Share of the sun's glow that a head with walls sees under a closed cover, 0..=1.
    pub overcast_glow: N,
    /// Relative difference of the lower and the upper cells, share: positive looks too low.
    pub mismatch_tilt: N,
    /// The same of the cells on either side: positive looks too far clockwise.
    pub mismatch_turn: N,
    /// Share of the cells' light that a cover evens out, 0..=0.9.
    pub cover_scatter: N,
    /// Tilt of the cells from the axis for tilted heads, °.
    pub cell_tilt_deg: N,
    /// Time from what the cells see to what the motors do, min.
    pub delay_min: N,
    /// How far the motors coast after they are switched off, °.
    pub coast_deg: N,
    /// Standard deviation of the noise of the contrast in steady light, share.
    pub noise: N,
    /// Irradiance on the head below which it does not seek, W/m².
    pub dim_w_m2: N,
    /// Spread of the aim under patchy cloud, ° (standard deviation at half cloud).
    pub pull_deg: N,
    /// Rated life, h of running motors, if the maker states it.
    pub rated_hours: Option<f64>,
    /// Rated life in moves, if the maker states it.
    pub rated_moves: Option<f64>,
    /// A fault: from this day of the season on (0-based) the mount stays where it is.
    pub stuck_from_day: Option<u16>,
}

/// How a mount decides where to look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MountKind {
    /// It does not move.
    Fixed,
    /// It follows the computed position of the sun.
    SunFollowing,
    /// It seeks the brightest part of the sky with four photocells.
    LightSeeking,
}

/// Sensor head of a light-seeking mount.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Head {
    /// Cross-shaped walls over coplanar cells: the usual build.
    Walls,
    /// Cells tilted away from the axis.
    Tilted,
    /// Cells back to back.
    BackToBack,
}

impl<N> Mount<N> {
    pub(in crate::design) fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Mount<M> {
        Mount {
            kind: self.kind,
            tilt_deg: f("mount.tilt", &self.tilt_deg),
            azimuth_deg: f("mount.azimuth", &self.azimuth_deg),
            rest_azimuth_deg: f("mount.rest_azimuth", &self.rest_azimuth_deg),
            rest_tilt_deg: f("mount.rest_tilt", &self.rest_tilt_deg),
            tilt_max_deg: f("mount.tilt_max", &self.tilt_max_deg),
            azimuth_centre_deg: self.azimuth_centre_deg,
            azimuth_half_range_deg: self.azimuth_half_range_deg,
            speed_deg_s: f("mount.speed", &self.speed_deg_s),
            step_deg: f("mount.step", &self.step_deg),
            motor_current_a: f("mount.motor_current", &self.motor_current_a),
            lowest_voltage_v: f("mount.lowest_voltage", &self.lowest_voltage_v),
            standby_current_a: f("mount.standby_current", &self.standby_current_a),
            head: self.head,
            contrast: f("mount.contrast", &self.contrast),
            shadow_deg: f("mount.shadow", &self.shadow_deg),
            overcast_glow: f("mount.overcast_glow", &self.overcast_glow),
            mismatch_tilt: f("mount.mismatch_tilt", &self.mismatch_tilt),
            mismatch_turn: f("mount.mismatch_turn", &self.mismatch_turn),
            cover_scatter: f("mount.cover_scatter", &self.cover_scatter),
            cell_tilt_deg: f("mount.cell_tilt", &self.cell_tilt_deg),
            delay_min: f("mount.delay", &self.delay_min),
            coast_deg: f("mount.coast", &self.coast_deg),
            noise: f("mount.noise", &self.noise),
            dim_w_m2: f("mount.dim", &self.dim_w_m2),
            pull_deg: f("mount.pull", &self.pull_deg),
            rated_hours: self.rated_hours,
            rated_moves: self.rated_moves,
            stuck_from_day: self.stuck_from_day,
        }
    }
}
