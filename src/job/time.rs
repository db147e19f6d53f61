//! Time stamps of files, given from outside so that the same job gives the
//! same bytes.

/// Days of each month in a year that is no leap year.
const DAYS: [u64; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/// Latest second that has a year of four digits: 9999-12-31T23:59:59.
const LATEST: u64 = 253_402_300_799;

fn is_leap(year: u64) -> bool {
    year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400))
}

fn days_of(year: u64, month: usize) -> u64 {
    DAYS[month - 1] + u64::from(month == 2 && is_leap(year))
}

/// Whether a text is `YYYY-MM-DDThh:mm:ss` (ISO 8601) of a day that exists.
pub(super) fn is_stamp(text: &str) -> bool {
    let shape = b"0000-00-00T00:00:00";
    let same = |(c, s): (u8, &u8)| if *s == b'0' { c.is_ascii_digit() } else { c == *s };
    if text.len() != shape.len() || !text.bytes().zip(shape).all(same) {
        return false;
    }
    let part = |from: usize, to: usize| text[from..to].parse::<u64>().expect("checked digits");
    let (year, month, day) = (part(0, 4), part(5, 7), part(8, 10));
    (1..=12).contains(&month)
        && (1..=days_of(year, month as usize)).contains(&day)
        && part(11, 13) < 24
        && part(14, 16) < 60
        && part(17, 19) < 60
}

/// A `SOURCE_DATE_EPOCH` that is no whole number of seconds up to the year 9999.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("SOURCE_DATE_EPOCH is {0:?}, which is no number of seconds since 1970")]
pub struct BadEpoch(String);

/// The stamp of a `SOURCE_DATE_EPOCH` (seconds since 1970, UTC), or that of 1970
/// if there is none.
///
/// # Errors
/// [`BadEpoch`] if the text is no such number.
pub(super) fn epoch_stamp(epoch: Option<&str>) -> Result<String, BadEpoch> {
    let text = epoch.unwrap_or("0");
    let seconds: u64 = text.trim().parse().map_err(|_| BadEpoch(text.to_owned()))?;
    if seconds > LATEST {
        return Err(BadEpoch(text.to_owned()));
    }
    let (mut days, rest) = (seconds / 86_400, seconds % 86_400);
    let mut year = 1970;
    while days >= 365 + u64::from(is_leap(year)) {
        days -= 365 + u64::from(is_leap(year));
        year += 1;
    }
    let mut month = 1;
    while days >= days_of(year, month) {
        days -= days_of(year, month);
        month += 1;
    }
    let (hour, minute, second) = (rest / 3600, rest / 60 % 60, rest % 60);
    Ok(format!("{year:04}-{month:02}-{:02}T{hour:02}:{minute:02}:{second:02}", days + 1))
}

/// The day of a `SOURCE_DATE_EPOCH`, `YYYY-MM-DD`; none without one.
///
/// # Errors
/// [`BadEpoch`] if the text is no number of seconds.
pub fn epoch_day(epoch: Option<&str>) -> Result<Option<String>, BadEpoch> {
    let stamp = epoch.map(|text| epoch_stamp(Some(text))).transpose()?;
    Ok(stamp.and_then(|stamp| stamp.split('T').next().map(str::to_owned)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn epochs_become_stamps() {
        let stamp = |text| epoch_stamp(Some(text)).expect("a number");
        assert_eq!(epoch_stamp(None).as_deref(), Ok("1970-01-01T00:00:00"));
        assert_eq!(stamp("951782400"), "2000-02-29T00:00:00");
        assert_eq!(stamp("1767225599"), "2025-12-31T23:59:59");
        assert_eq!(stamp("253402300799"), "9999-12-31T23:59:59");
        assert!(epoch_stamp(Some("253402300800")).is_err());
        assert!(epoch_stamp(Some("yesterday")).is_err());
        assert!(is_stamp(&stamp("951782400")));
    }

    #[test]
    fn stamps_must_exist() {
        for bad in [
            "2025-02-29T00:00:00",
            "2025-1-01T00:00:00",
            "2025-13-01T00:00:00",
            "now",
            "2025-01-01 00:00:00",
            "2025-01-01T24:00:00",
            "2025-01-01T00:00:0µ",
        ] {
            assert!(!is_stamp(bad), "{bad}");
        }
        assert!(is_stamp("2024-02-29T23:59:59"));
    }
}
