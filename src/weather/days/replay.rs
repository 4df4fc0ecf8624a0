//! Years as they were: the days of the files in their own order, each with its own hours.
//!
//! Nothing is drawn but the clouds within hours. Over the years of a long record, this is what a build would have met there.

use super::pool::DonorPool;
use super::series::SampledDay;
use super::window::days_apart;
use crate::sky::calendar::DAYS;

/// The days of a pool, file by file.
#[derive(Clone, Debug)]
pub struct Replay {
    /// By file and day of the year.
    days: Vec<SampledDay>,
    /// Whether the file itself has that day.
    given: Vec<bool>,
}

impl Replay {
    /// Of a pool that is not empty. A day that a file lacks is that file's whole day nearest in the year; of a file without any,
    /// another file's.
    pub fn new(pool: &DonorPool) -> Replay {
        let day = |file: usize, date: usize| {
            let off = |i: &usize| {
                let d = &pool.donors()[*i];
                (usize::from(d.file) != file, days_apart(d.day_of_year, date as u16), *i)
            };
            let nearest = (0..pool.donors().len()).min_by_key(off).unwrap_or_default();
            SampledDay::of_donor(pool, nearest as u32)
        };
        let mut days: Vec<Option<SampledDay>> = vec![None; pool.files() * DAYS];
        for (i, d) in pool.donors().iter().enumerate() {
            let at = usize::from(d.file) * DAYS + usize::from(d.day_of_year);
            days[at] = Some(SampledDay::of_donor(pool, i as u32));
        }
        let given = days.iter().map(Option::is_some).collect();
        let whole = |(at, d): (usize, Option<SampledDay>)| d.unwrap_or_else(|| day(at / DAYS, at % DAYS));
        Replay { days: days.into_iter().enumerate().map(whole).collect(), given }
    }

    /// A day of the year (0..365) with its own hours, of the first file that has it.
    pub fn given(&self, day_of_year: u16) -> Option<SampledDay> {
        let at = |year: usize| year * DAYS + usize::from(day_of_year);
        (0..self.years()).map(at).find(|&at| self.given[at]).map(|at| self.days[at])
    }

    /// Number of years.
    pub fn years(&self) -> usize {
        self.days.len() / DAYS
    }

    /// `days` consecutive days from `first_day` (0..365) of a year on. The first 1 January among them, or of them, begins file
    /// `trial`, counted round; before the first file comes the end of the first, not of the last, which lies years away.
    pub fn draw(&self, trial: u64, first_day: u16, days: usize) -> Vec<SampledDay> {
        let years = self.years().max(1);
        let file = (trial % years as u64) as usize;
        let lead = (DAYS - usize::from(first_day)) % DAYS;
        let of = |t: usize| {
            let date = (usize::from(first_day) + t) % DAYS;
            let year = match t.checked_sub(lead) {
                None => file.saturating_sub(1),
                Some(after) => (file + after / DAYS) % years,
            };
            self.days[year * DAYS + date]
        };
        (0..days).map(of).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weather::days::pool::Donor;

    /// Three years whose index tells file and day; 5 February of the second is lacking.
    fn replay() -> Replay {
        let donors = (0..3u16)
            .flat_map(|file| (0..DAYS as u16).map(move |day_of_year| (file, day_of_year)))
            .filter(|at| *at != (1, 35))
            .map(|(file, day_of_year)| replay_donor(file, day_of_year))
            .collect();
        Replay::new(&DonorPool::from_daily(donors, vec![5000.0; DAYS]))
    }

    fn replay_donor(file: u16, day_of_year: u16) -> Donor {
        let index = f64::from(file) + f64::from(day_of_year) / 1024.0;
        Donor { file, day_of_year, index, air_c: 10.0, wind_m_s: 2.0 }
    }

    fn at(day: &SampledDay) -> (u16, u16) {
        let file = day.index.floor();
        (file as u16, ((day.index - file) * 1024.0).round() as u16)
    }

    #[test]
    fn years_follow_one_another_with_their_own_end_before_the_first() {
        let replay = replay();
        assert_eq!(replay.years(), 3);
        for trial in 0..7u64 {
            let file = (trial % 3) as u16;
            let days: Vec<_> = replay.draw(trial, 345, 20 + 365 + 5).iter().map(at).collect();
            assert_eq!(days[0], (file.saturating_sub(1), 345));
            assert_eq!(days[19], (file.saturating_sub(1), 364));
            assert_eq!(days[20], (file, 0));
            assert_eq!(days[384], (file, 364));
            assert_eq!(days[385], ((file + 1) % 3, 0));
        }
    }

    #[test]
    fn a_day_that_a_file_lacks_is_its_nearest() {
        let days: Vec<_> = replay().draw(1, 0, 40).iter().map(at).collect();
        assert_eq!(days[34], (1, 34));
        assert_eq!(days[35], (1, 34));
        assert_eq!(days[36], (1, 36));
        // Which file has it is known: the first year does; nobody has a day that no file has.
        assert_eq!(replay().given(35).as_ref().map(at), Some((0, 35)));
        let one = DonorPool::from_daily(vec![replay_donor(0, 3)], vec![5000.0; DAYS]);
        assert_eq!(Replay::new(&one).given(3).as_ref().map(at), Some((0, 3)));
        assert_eq!(Replay::new(&one).given(4), None);
    }
}
