//! Results against values that were computed for the check, by a general library or from the formula itself. They show
//! whether each link of the chain does what its source says; they are not measurements. The data, and how each file was
//! made, are in `tests/computed/`.

mod battery_pump;
mod clear_sky;
mod clouds;
mod covered;
pub mod cycles;
mod dirt;
mod drift;
mod electronics;
mod head;
mod labels;
mod plane;
mod plant_links;
mod pointing;
mod rules;
mod sky_radiance;
mod snow;
mod statistics;
pub mod sun;
mod temperature;
mod tracking_gain;
mod trees;
mod turbidity;
mod water_ice;

#[test]
fn the_folder_is_in_order() {
    crate::check_file::folder_is_in_order("computed", &["Computed", "From the formula", "Simulated"]);
}
