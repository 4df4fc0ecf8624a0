//! Results against values printed in a source or recorded by an instrument. Their data, and where each comes
//! from, lie in `tests/published/`.

mod left_out_record;
mod stations;
mod typical_years;

#[test]
fn the_table_of_checks_is_complete() {
    crate::check_file::table_is_complete("published");
}
