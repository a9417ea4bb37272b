//! The date that a report carries.

use std::time::{SystemTime, UNIX_EPOCH};

/// The date in UTC, year-month-day.
pub(super) fn today() -> Option<String> {
    // A module of a page has no clock of its own.
    if cfg!(target_arch = "wasm32") {
        return None;
    }
    let seconds = SystemTime::now().duration_since(UNIX_EPOCH).ok()?.as_secs();
    let days = i64::try_from(seconds / 86_400).ok()?;
    let (year, month, day) = civil(days);
    Some(format!("{year:04}-{month:02}-{day:02}"))
}

/// Date and time in UTC, to the minute.
pub(super) fn minute(time: SystemTime) -> Option<String> {
    const OF_A_DAY: u64 = 86_400;
    let seconds = time.duration_since(UNIX_EPOCH).ok()?.as_secs();
    let days = i64::try_from(seconds / OF_A_DAY).ok()?;
    let (year, month, day) = civil(days);
    let minutes = seconds % OF_A_DAY / 60;
    let (hour, minute) = (minutes / 60, minutes % 60);
    Some(format!(
        "{year:04}-{month:02}-{day:02} {hour:02}:{minute:02} UTC"
    ))
}

/// Year, month and day of the Gregorian calendar, from days since 1970-01-01. Years are counted
/// from March, so that the leap day is the last of its year.
fn civil(days: i64) -> (i64, i64, i64) {
    const OF_400_YEARS: i64 = 146_097;
    // Days from 0000-03-01 to 1970-01-01.
    let days = days + 719_468;
    let (era, day_of_era) = (days.div_euclid(OF_400_YEARS), days.rem_euclid(OF_400_YEARS));
    let year_of_era =
        (day_of_era - day_of_era / 1_460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month_from_march = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * month_from_march + 2) / 5 + 1;
    let month = (month_from_march + 2) % 12 + 1;
    let year = era * 400 + year_of_era + i64::from(month <= 2);
    (year, month, day)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Days from the calendar of any computer (`date -d @…`).
    #[test]
    fn dates() {
        for (days, date) in [
            (0, (1970, 1, 1)),
            (11_016, (2000, 2, 29)),
            (11_017, (2000, 3, 1)),
            (19_782, (2024, 2, 29)),
            (20_819, (2027, 1, 1)),
        ] {
            assert_eq!(civil(days), date, "{days}");
        }
    }

    /// `date -u -d @1798717380`.
    #[test]
    fn minutes() {
        let time = UNIX_EPOCH + std::time::Duration::from_secs(1_798_717_380);
        assert_eq!(minute(time).unwrap(), "2026-12-31 11:43 UTC");
    }
}
