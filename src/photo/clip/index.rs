//! Where the key frames lie, when they are shown, and which way is up.
use super::boxes::bare;
use super::track::find;
use super::{Coding, damaged, unsupported};
use crate::photo::error::PhotoError;
use re_mp4::{Mp4, StblBox, TrakBox};

/// A key frame in the file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Key {
    /// Seconds from the start of what the clip shows.
    pub seconds: f64,
    /// Bytes from the file's start.
    pub offset: u64,
    /// Bytes.
    pub size: u64,
}

/// One in the 16.16 numbers of a matrix.
const ONE: i32 = 1 << 16;

/// The coding and the key frames in the order of their times; `movie` is the content of the index.
pub(super) fn read(movie: &[u8], length: u64) -> Result<(Coding, Vec<Key>), PhotoError> {
    let found = find(movie)?;
    let file = Mp4::read_bytes(&bare(movie, found.track)?).map_err(|e| damaged(&format!("its index cannot be used ({e})")))?;
    let (Some(track), Some(described)) = (file.tracks().values().next(), file.moov.traks.first()) else {
        return Err(damaged("it holds no track of pictures"));
    };
    let m = &file.moov.mvhd.matrix;
    if quarter_turn([m.a, m.b, m.c, m.d]) != Some(1) {
        return Err(unsupported("a clip that is turned as a whole"));
    }
    let m = &described.tkhd.matrix;
    let orientation = quarter_turn([m.a, m.b, m.c, m.d]).ok_or_else(|| unsupported("a clip turned by no quarter turn"))?;
    let shown = Shown::of(described, file.moov.mvhd.timescale, track.timescale)?;
    // the library moved the first picture shown to 0; the edit list counts from the first one stored
    let moved = track.samples.first().map_or(0, |s| s.decode_timestamp.wrapping_neg()).wrapping_sub(shift(&described.mdia.minf.stbl));
    let mut keys = Vec::new();
    if track.samples.iter().any(|s| s.offset.checked_add(s.size).is_none_or(|end| end > length)) {
        return Err(damaged("it is cut short: frames in its index lie beyond its end"));
    }
    for sample in track.samples.iter().filter(|s| s.is_sync) {
        let media = sample.composition_timestamp.checked_add(moved).ok_or_else(|| damaged("its times cannot be right"))?;
        if let Some(seconds) = shown.seconds(media as f64) {
            keys.push(Key { seconds, offset: sample.offset, size: sample.size });
        }
    }
    if keys.is_empty() {
        return Err(damaged("it holds no key frame"));
    }
    keys.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
    let coding = Coding { codec: found.codec, config: found.config.to_vec(), stated: found.stated, orientation };
    Ok((coding, keys))
}

/// By how much decoding times were moved for negative offsets.
fn shift(tables: &StblBox) -> i64 {
    let offsets = tables.ctts.iter().flat_map(|c| &c.entries).map(|e| -i64::from(e.sample_offset));
    offsets.max().unwrap_or(0).max(0)
}

/// The EXIF orientation of a matrix: x' = a x + c y, y' = b x + d y, y down (ISO/IEC 14496-12, 6.2.2).
fn quarter_turn(matrix: [i32; 4]) -> Option<u8> {
    const M: i32 = -ONE;
    Some(match matrix {
        [ONE, 0, 0, ONE] => 1,
        [M, 0, 0, ONE] => 2,
        [M, 0, 0, M] => 3,
        [ONE, 0, 0, M] => 4,
        [0, ONE, ONE, 0] => 5,
        [0, ONE, M, 0] => 6,
        [0, M, M, 0] => 7,
        [0, M, ONE, 0] => 8,
        _ => return None,
    })
}

/// Which part of the track is shown (edit list, ISO/IEC 14496-12, 8.6.6).
struct Shown {
    /// Track units a second.
    scale: f64,
    /// Track time at which showing begins and ends.
    from: f64,
    until: f64,
    /// Seconds before it begins.
    delay: f64,
}

impl Shown {
    fn of(track: &TrakBox, movie_scale: u32, track_scale: u64) -> Result<Self, PhotoError> {
        let (movie, scale) = (f64::from(movie_scale), track_scale as f64);
        if movie <= 0.0 || scale <= 0.0 {
            return Err(damaged("its times have no unit"));
        }
        let mut shown = Self { scale, from: 0.0, until: f64::INFINITY, delay: 0.0 };
        let list = track.edts.as_ref().and_then(|e| e.elst.as_ref());
        let edits = list.map(|l| &l.entries[..]).unwrap_or_default();
        let nothing = if list.is_some_and(|l| l.version == 1) { u64::MAX } else { u32::MAX.into() };
        let (empty, real): (Vec<_>, Vec<_>) = edits.iter().partition(|e| e.media_time == nothing);
        shown.delay = empty.iter().map(|e| e.segment_duration as f64 / movie).sum();
        match real[..] {
            [] => {}
            [edit] if (edit.media_rate, edit.media_rate_fraction) == (1, 0) => {
                shown.from = edit.media_time as f64;
                if edit.segment_duration > 0 {
                    shown.until = shown.from + edit.segment_duration as f64 / movie * scale;
                }
            }
            _ => return Err(unsupported("a clip that was cut or slowed down in its list of edits")),
        }
        Ok(shown)
    }
    /// `None` for what is not shown. Durations are rounded to the movie's unit: half a millisecond is allowed.
    fn seconds(&self, media: f64) -> Option<f64> {
        let slack = 5e-4 * self.scale;
        let inside = media >= self.from - slack && media < self.until + slack;
        inside.then_some((media - self.from).max(0.0) / self.scale + self.delay)
    }
}

#[cfg(test)]
mod tests {
    use super::{ONE, quarter_turn};

    #[test]
    fn a_turn_clockwise_is_the_sixth_orientation() {
        // 90° clockwise: what points right is turned to point down
        assert_eq!(quarter_turn([0, ONE, -ONE, 0]), Some(6));
        assert_eq!(quarter_turn([0, -ONE, ONE, 0]), Some(8));
        assert_eq!(quarter_turn([ONE, 1, 0, ONE]), None);
    }
}
