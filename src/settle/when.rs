//! A capture time as written to seconds that can be subtracted.

/// Seconds since 0000-03-01 of "YYYY-MM-DD HH:MM:SS" (proleptic Gregorian calendar, local camera time: a change to or from
/// daylight saving between two photos shows as an hour). `None` for anything else, and for dates that do not exist.
///
/// Days by counting years from March, so that the leap day comes last (Richards, in: Explanatory Supplement to the
/// Astronomical Almanac, 3rd ed., 15.11; the months by the 153-day rule).
pub fn seconds_of(taken_at: &str) -> Option<f64> {
    let (date, time) = taken_at.split_once(' ')?;
    let [year, month, day] = three(date, '-')?;
    let [hour, minute, second] = three(time, ':')?;
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let longest = match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 if leap => 29,
        2 => 28,
        _ => return None,
    };
    if year == 0 || day == 0 || day > longest || hour > 23 || minute > 59 || second > 60 {
        return None;
    }
    let (y, m) = if month > 2 { (year, month - 3) } else { (year - 1, month + 9) };
    let days = 365 * y + y / 4 - y / 100 + y / 400 + (153 * m + 2) / 5 + day - 1;
    Some((days * 86_400 + hour * 3600 + minute * 60 + second) as f64)
}

fn three(text: &str, between: char) -> Option<[u64; 3]> {
    let mut parts = text.split(between).map(|p| if p.len() <= 4 { p.parse::<u64>().ok() } else { None });
    let found = [parts.next()??, parts.next()??, parts.next()??];
    parts.next().is_none().then_some(found)
}

#[cfg(test)]
mod tests {
    use super::seconds_of;

    #[test]
    fn differences_are_those_of_the_calendar() {
        let since = |a: &str, b: &str| seconds_of(b).unwrap() - seconds_of(a).unwrap();
        // 2000-01-01 is day 10957 after 1970-01-01 (POSIX time 946 684 800).
        assert_eq!(since("1970-01-01 00:00:00", "2000-01-01 00:00:00"), 946_684_800.0);
        assert_eq!(since("2024-02-28 23:59:50", "2024-03-01 00:00:10"), 86_420.0);
        assert_eq!(since("2026-02-28 00:00:00", "2026-03-01 00:00:00"), 86_400.0);
        assert_eq!(since("2026-12-31 23:59:59", "2027-01-01 00:00:00"), 1.0);
    }

    #[test]
    fn what_is_no_time_is_none() {
        for wrong in [
            "",
            "2026-08-14",
            "2026-13-01 00:00:00",
            "2025-02-29 00:00:00",
            "0000-00-00 00:00:00",
            "2026-08-14 24:00:00",
            "2026-8-14 1:2:3:4",
            "    -  -     :  :  ",
        ] {
            assert_eq!(seconds_of(wrong), None, "{wrong}");
        }
    }
}
