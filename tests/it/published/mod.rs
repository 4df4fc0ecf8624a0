//! Results against values printed in a source or recorded by an instrument. The data, and the source of each file, are in
//! `tests/published/`.

mod ageing;
mod cycles;
mod evaporation;
mod intervals;
mod left_out_record;
mod sun;
mod typical_years;

#[test]
fn the_folder_is_in_order() {
    crate::check_file::folder_is_in_order("published", &["Printed", "Recorded"]);
}
