//! What a mount meets in a minute has the same bits on every width of vector.

use super::*;
use crate::design::Head;
use crate::lanes::{BLOCK, Isa, Kernel, Lane, RowF64, run};

struct Minutes<'a> {
    terms: &'a [SunTerms],
    open: &'a OpenSky,
}

impl Kernel for Minutes<'_> {
    type Out = Vec<u64>;
    #[inline(always)]
    fn run<V: Lane>(self) -> Vec<u64> {
        let mut bits = Vec::new();
        // Clear to closed, one kind of sky a lane; the last has no light at all.
        let dni = RowF64(std::array::from_fn(|k| 60.0 * k as f64 * f64::from(k < 15)));
        let dhi = RowF64(std::array::from_fn(|k| (300.0 - 18.0 * k as f64) * f64::from(k < 15)));
        for terms in self.terms {
            for head in [Head::Walls, Head::Tilted, Head::BackToBack] {
                let mut rows = [RowF64::default(); 6];
                for at in (0..BLOCK).step_by(V::N) {
                    let sky = terms.behind_skyline(V::of(&dni, at), V::of(&dhi, at), self.open, [0.7; 2]);
                    let [albedo, shadow_tan, glow_seen, b0] = [0.2, 0.3, 0.6, 0.07].map(V::splat);
                    let optics = HeadOptics { shadow_tan, glow_seen };
                    let aim = balance(head, &optics, &sky, terms, albedo, self.open);
                    let light = on_plane(&sky, terms.sun, aim.direction, b0, albedo, self.open);
                    let band = DeadBand { beam_rad: V::splat(0.02), dome_rad: V::splat(0.4) };
                    let results = [aim.direction[0], aim.direction[1], aim.direction[2]];
                    let results = results.into_iter().chain([
                        light.total_w_m2(),
                        aim.light_w_m2,
                        band.under(head, aim.telling_w_m2, aim.shared_w_m2),
                    ]);
                    results.zip(&mut rows).for_each(|(v, row)| v.put(row, at));
                }
                bits.extend(rows.iter().flat_map(|r| r.0.map(f64::to_bits)));
            }
        }
        bits
    }
}

#[test]
fn every_width_gives_the_same_bits() {
    let place = Place { latitude_deg: 50.0, longitude_deg: 10.0, elevation_m: 300.0, utc_offset_h: 1.0 };
    let calendar = Calendar::new(place, [3.5; 12]);
    let terms: Vec<SunTerms> = calendar
        .days
        .iter()
        .step_by(40)
        .flat_map(|d| d.minutes.iter().step_by(50).map(SunTerms::from))
        .collect();
    let open = Skyline::new(&[(80.0, 5.0), (120.0, 25.0), (200.0, 0.0)]).open_sky();
    let plain = run(Isa::PLAIN, Minutes { terms: &terms, open: &open });
    assert!(plain.len() > 5000 && plain.iter().all(|b| f64::from_bits(*b).is_finite()));
    for isa in Isa::available() {
        assert!(run(isa, Minutes { terms: &terms, open: &open }) == plain, "{isa:?} differs from plain");
    }
}
