//! Published values: every link of the chain against its source, to the printed digits.

mod weather_4_left_out_record;
