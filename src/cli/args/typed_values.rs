//! Numbers, places and pairs of them as they are typed, told in words where they are none.
use std::path::PathBuf;

pub(super) fn number(text: &str, what: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(v) if v.is_finite() => Ok(v),
        _ => Err(format!("\"{text}\" is not a number, so the {what} is not known; write it like 92.5 or -40")),
    }
}

/// A number that may have a decimal comma, as on the page: only where no comma has another meaning. A comma before three digits may part
/// thousands, so that it is asked.
pub(super) fn decimal(text: &str, what: &str) -> Result<f64, String> {
    let of_thousands = |(whole, rest): (&str, &str)| {
        let whole = whole.trim().trim_start_matches(['+', '-']);
        let digits = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
        !whole.starts_with('0') && whole.len() < 4 && digits(whole) && rest.trim().len() == 3 && digits(rest.trim())
    };
    if let Some((whole, rest)) = text.split_once(',').filter(|t| of_thousands(*t)) {
        return Err(format!("\"{text}\" can be {whole}{rest} or {whole}.{rest}, so the {what} is not known; write the one or the other"));
    }
    number(&if text.contains('.') { text.to_string() } else { text.replacen(',', ".", 1) }, what)
}

pub(super) fn place(text: &str) -> Result<[f64; 2], String> {
    let (x, y) = text.split_once(',').ok_or("there is no comma between x and y; write the place in px like 846,311")?;
    Ok([number(x, "place to the right (x)")?, number(y, "place down (y)")?])
}

pub(super) fn mark(text: &str) -> Result<(f64, [f64; 2]), String> {
    let (value, at) = text.split_once('@').ok_or("there is no @ between value and place; write it like 80@846,311")?;
    Ok((decimal(value, "mark's value")?, place(at)?))
}

pub(super) fn step(text: &str) -> Result<f64, String> {
    let value = decimal(text, "step")?;
    if value > 0.0 { Ok(value) } else { Err(format!("{value} is not above 0, so no tick follows another by it; write it like 5")) }
}

/// A photo at a known temperature, as typed.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// The temperature, dial unit.
    pub value: f64,
    /// How far off it may be either way, dial unit.
    pub limit: f64,
    /// The photo.
    pub photo: PathBuf,
}

pub(super) fn known(text: &str) -> Result<Known, String> {
    let (given, photo) = text.split_once('=').ok_or("there is no = between temperature and photo; write it like 84±1=warm.jpg")?;
    let (value, limit) = given.split_once('±').or_else(|| given.split_once("+-")).ok_or(
        "it is not said how far off the thermometer may be, and no thermometer is exact; write it like 84±1=warm.jpg or 84+-1=warm.jpg",
    )?;
    let limit = decimal(limit, "thermometer's limit")?;
    if limit <= 0.0 || photo.is_empty() {
        return Err("the limit must be above 0 and a photo must be named; write it like 84±1=warm.jpg".into());
    }
    Ok(Known { value: decimal(value, "temperature")?, limit, photo: photo.into() })
}

pub(super) fn tick(text: &str) -> Result<(usize, f64), String> {
    let (name, value) = text.split_once('=').ok_or("there is no = between the tick's number and its value; write it like 3=60")?;
    let name = name.trim().parse().map_err(|_| format!("\"{name}\" is no tick number; write it like 3=60"))?;
    Ok((name, decimal(value, "tick's value")?))
}

pub(super) fn angle(text: &str) -> Result<(f64, f64), String> {
    let (value, degrees) = text.split_once('@').ok_or("there is no @ between value and angle; write it like 80@-12.5")?;
    Ok((decimal(value, "value")?, decimal(degrees, "angle in degrees")?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_angles_and_places() {
        assert_eq!(mark("-40@10,20.5"), Ok((-40.0, [10.0, 20.5])));
        assert_eq!(angle("80@-12.5"), Ok((80.0, -12.5)));
        assert_eq!(place("1, 2"), Ok([1.0, 2.0]));
        // a decimal comma in a value; in a place the comma parts x from y
        assert_eq!(mark("-40,5@10,20"), Ok((-40.5, [10.0, 20.0])));
        assert_eq!((angle("80,5@-12,5"), tick("3=60,5")), (Ok((80.5, -12.5)), Ok((3, 60.5))));
        assert!(place("10,5,20").is_err() && tick("3=1,234,5").is_err() && tick("3=1,234.5").is_err());
        // a thousand, or one to three digits
        assert!(tick("3=1,000").is_err_and(|e| e.contains("1000 or 1.000")) && mark("12,345@1,2").is_err());
        assert_eq!((tick("3=0,125"), tick("3=1,25"), tick("3=1000")), (Ok((3, 0.125)), Ok((3, 1.25)), Ok((3, 1000.0))));
        let warm = Known { value: -4.5, limit: 1.0, photo: "a=b.jpg".into() };
        assert_eq!(known("-4.5±1=a=b.jpg"), Ok(warm.clone()));
        assert_eq!(known("-4.5+-1=a=b.jpg"), Ok(warm));
        for wrong in ["84=a.jpg", "84±1", "84±0=a.jpg", "84±-1=a.jpg", "84±1=", "x±1=a.jpg", "84±nan=a.jpg"] {
            assert!(known(wrong).is_err(), "{wrong}");
        }
        for wrong in ["80", "80@1", "80@1,x", "@1,2", "nan@1,2", "80@1,inf"] {
            assert!(mark(wrong).is_err(), "{wrong}");
        }
    }
}
