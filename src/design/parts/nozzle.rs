//! From the head at a nozzle to the height of its jet.
//!
//! Ideal height C_v² H; loss to the air after Lueger: h = H'/(1 + φ H'), φ = 0.25/(d + 0.001 d³) 1/m with the bore d in
//! mm (fire-stream formula, tabulated for 10 to 50 mm; below 10 mm an extrapolation; from memory).

/// Height of the jet, m, of a head at the nozzle (m), a bore (mm, > 0) and a velocity coefficient (0..=1).
pub fn jet_height_m(head_m: f64, bore_mm: f64, velocity: f64) -> f64 {
    let ideal_m = velocity * velocity * head_m;
    let phi_per_m = 0.25 / (bore_mm + 0.001 * bore_mm * bore_mm * bore_mm);
    ideal_m / (1.0 + phi_per_m * ideal_m)
}
