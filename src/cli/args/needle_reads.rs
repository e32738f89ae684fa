//! What the person sees the needle read, as typed.
use super::temperature::plus_minus;
use super::typed_values::decimal;

/// Where the needle stands in the reference photo, read by eye.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NeedleReads {
    /// The value, dial unit.
    pub value: f64,
    /// How far off that look may be either way, dial unit; `None` for the usual.
    pub limit: Option<f64>,
}

/// "91", "91±2", "91+-2".
pub fn needle_reads(text: &str) -> Result<NeedleReads, String> {
    let plain = plus_minus(text);
    let Some((value, limit)) = plain.split_once('±') else {
        return Ok(NeedleReads { value: decimal(&plain, "value")?, limit: None });
    };
    let (value, limit) = (decimal(value, "value")?, decimal(limit, "limit")?);
    if limit <= 0.0 {
        return Err("the limit must be above 0; write it like 91±2, or 91 alone".into());
    }
    Ok(NeedleReads { value, limit: Some(limit) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn with_and_without_a_limit() {
        assert_eq!(needle_reads("91"), Ok(NeedleReads { value: 91.0, limit: None }));
        for text in ["-5,5±2", "-5.5+-2", "-5.5 +/- 2"] {
            assert_eq!(needle_reads(text), Ok(NeedleReads { value: -5.5, limit: Some(2.0) }), "{text}");
        }
        for wrong in ["", "hot", "91±", "91±0", "91±-1", "±2", "nan"] {
            assert!(needle_reads(wrong).is_err(), "{wrong}");
        }
    }
}
