//! Skies as radiance from every direction, summed numerically: the reference for the closed forms of the library. Slow and
//! exact; the library itself does not need it.

use libm::{acos, cos, exp, sin, sincos};
use std::f64::consts::{FRAC_PI_2, PI};

/// Parameters a..e of the all-weather sky: of its gradation (a, b) and its indicatrix (c, d, e).
pub type Parameters = [f64; 5];

/// Perez, Seals & Michalsky 1993 all-weather sky, up to a factor.
pub fn perez_1993(p: Parameters, sun_zenith: f64, zenith: f64, azimuth_from_sun: f64) -> f64 {
    let [a, b, c, d, e] = p;
    let g = angle(sun_zenith, zenith, azimuth_from_sun);
    let l = (1.0 + a * exp(b / cos(zenith).max(1e-12))) * (1.0 + c * exp(d * g) + e * cos(g) * cos(g));
    l.max(0.0)
}

/// Angle between sun and sky element, rad.
pub fn angle(sun_zenith: f64, zenith: f64, azimuth_from_sun: f64) -> f64 {
    let c = cos(sun_zenith) * cos(zenith) + sin(sun_zenith) * sin(zenith) * cos(azimuth_from_sun);
    acos(c.clamp(-1.0, 1.0))
}

/// Parameters a..e of the all-weather sky from its twenty coefficients (x1..x4 for each of a..e).
pub fn perez_1993_parameters(x: [[f64; 4]; 5], first_bin: bool, z: f64, delta: f64) -> Parameters {
    let mut p = x.map(|[x1, x2, x3, x4]| x1 + x2 * z + delta * (x3 + x4 * z));
    if first_bin {
        let [c1, c2, c3, c4] = x[2];
        let [d1, d2, d3, d4] = x[3];
        p[2] = exp(libm::pow(delta * (c1 + c2 * z), c3)) - c4;
        p[3] = -exp(delta * (d1 + d2 * z)) + d3 + delta * d4;
    }
    p
}

/// Light from all sides, the sun in the plane of x and up; symmetric about that plane.
pub struct Light {
    /// Direction (x toward the sun's azimuth, y, up) and irradiance at right angles to it.
    rays: Vec<([f64; 3], f64)>,
    /// Radiant exitance of the ground.
    ground: f64,
}

impl Light {
    /// A sky of a radiance by zenith angle and azimuth from the sun; black ground.
    pub fn of_sky(radiance: impl Fn(f64, f64) -> f64) -> Light {
        const ZENITHS: usize = 120;
        const AZIMUTHS: usize = 180;
        let mut rays = Vec::with_capacity(ZENITHS * AZIMUTHS * 2);
        for (x, w) in gauss_legendre(ZENITHS) {
            let zenith = FRAC_PI_2 * 0.5 * (x + 1.0);
            let ring = FRAC_PI_2 * 0.5 * w * sin(zenith) * PI / AZIMUTHS as f64;
            for k in 0..AZIMUTHS {
                let azimuth = PI * (k as f64 + 0.5) / AZIMUTHS as f64;
                let l = radiance(zenith, azimuth) * ring;
                let ((sz, cz), (sa, ca)) = (sincos(zenith), sincos(azimuth));
                rays.push(([sz * ca, sz * sa, cz], l));
                rays.push(([sz * ca, -sz * sa, cz], l));
            }
        }
        Light { rays, ground: 0.0 }
    }

    /// The same sky, brightened to a diffuse horizontal irradiance.
    pub fn scaled_to(mut self, dhi: f64) -> Light {
        let factor = dhi / self.on_plane([0.0, 0.0, 1.0]);
        self.rays.iter_mut().for_each(|r| r.1 *= factor);
        self
    }

    /// Only the directions that `keep` accepts: the sky behind a skyline.
    pub fn hidden_unless(mut self, keep: impl Fn([f64; 3]) -> bool) -> Light {
        self.rays.retain(|r| keep(r.0));
        self
    }

    /// With a beam from a zenith angle, and ground of this albedo.
    pub fn with_beam_and_ground(mut self, dni: f64, sun_zenith: f64, albedo: f64) -> Light {
        self.ground = albedo * (self.on_plane([0.0, 0.0, 1.0]) + dni * cos(sun_zenith));
        self.rays.push((at(sun_zenith), dni));
        self
    }

    /// Irradiance on a plane.
    pub fn on_plane(&self, n: [f64; 3]) -> f64 {
        let sky: f64 = self.rays.iter().map(|(d, l)| dot(n, *d).max(0.0) * l).sum();
        sky + self.ground * 0.5 * (1.0 - n[2])
    }

    /// Vector irradiance: its x and up components.
    pub fn vector(&self) -> (f64, f64) {
        let sum = |i: usize| self.rays.iter().map(|(d, l)| d[i] * l).sum::<f64>();
        (sum(0), sum(2) - self.ground)
    }

    /// Angle from the zenith toward the sun of the brightest plane, rad.
    pub fn brightest(&self) -> f64 {
        let golden = 0.5 * (5_f64.sqrt() - 1.0);
        let (mut a, mut b) = (-0.3, FRAC_PI_2 + 0.2);
        for _ in 0..32 {
            let (c, d) = (b - golden * (b - a), a + golden * (b - a));
            if self.on_plane(at(c)) > self.on_plane(at(d)) { b = d } else { a = c }
        }
        0.5 * (a + b)
    }

    /// Where two cells tilted `alpha` to either side of the axis balance, rad from the zenith.
    pub fn pair(&self, alpha: f64) -> f64 {
        root(|t| self.on_plane(at(t + alpha)) - self.on_plane(at(t - alpha)))
    }

    /// Where coplanar cells with a tall wall between them balance.
    pub fn wall(&self) -> f64 {
        root(|t| {
            let (n, side) = (at(t), at(t + FRAC_PI_2));
            let sign = |d: [f64; 3]| if dot(side, d) > 0.0 { 1.0 } else { -1.0 };
            self.rays.iter().map(|(d, l)| sign(*d) * dot(n, *d).max(0.0) * l).sum()
        })
    }
}

/// Unit vector at an angle from the zenith toward the sun.
pub fn at(angle: f64) -> [f64; 3] {
    let (s, c) = sincos(angle);
    [s, 0.0, c]
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Where a falling function crosses 0, between a little behind the zenith and the horizon.
fn root(f: impl Fn(f64) -> f64) -> f64 {
    let (mut a, mut b) = (-0.3, FRAC_PI_2);
    for _ in 0..30 {
        let m = 0.5 * (a + b);
        if f(m) > 0.0 { a = m } else { b = m }
    }
    0.5 * (a + b)
}

/// Nodes and weights of Gauss-Legendre quadrature on -1..1.
fn gauss_legendre(n: usize) -> Vec<(f64, f64)> {
    (0..n)
        .map(|i| {
            let mut x = cos(PI * (i as f64 + 0.75) / (n as f64 + 0.5));
            let mut slope = 0.0;
            for _ in 0..20 {
                let (mut p0, mut p1) = (1.0, x);
                for k in 2..=n {
                    let k = k as f64;
                    (p0, p1) = (p1, ((2.0 * k - 1.0) * x * p1 - (k - 1.0) * p0) / k);
                }
                slope = n as f64 * (x * p1 - p0) / (x * x - 1.0);
                x -= p1 / slope;
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}
