//! Room for many numbers. A photo's planes are megabytes of fresh memory, which the system hands out in pages of 4 kB, each with a fault:
//! measured, a fifth of the time of reading a photo. Large buffers ask for large pages where the system has them (Linux).
use bytemuck::Pod;
use memmap2::MmapMut;
use std::fmt;
use std::ops::{Deref, DerefMut};

/// Size of a large page, bytes.
const PAGE: usize = 2 << 20;
/// Bytes from which a buffer asks for large pages: a page is zeroed as a whole.
const LARGE: usize = PAGE / 2 + PAGE / 4;

/// Numbers in a row, of a fixed length.
#[derive(Default)]
pub struct Buffer<T: Pod>(Kept<T>);

enum Kept<T> {
    Heap(Vec<T>),
    Pages { map: MmapMut, length: usize },
}

impl<T> Default for Kept<T> {
    fn default() -> Self {
        Kept::Heap(Vec::new())
    }
}

impl<T: Pod> Buffer<T> {
    /// So many zeros.
    pub fn zeroed(length: usize) -> Self {
        let bytes = length.saturating_mul(size_of::<T>());
        if bytes >= LARGE
            && cfg!(target_os = "linux")
            && PAGE.is_multiple_of(size_of::<T>().max(1))
            && let Ok(map) = MmapMut::map_anon(bytes.next_multiple_of(PAGE))
        {
            // only a wish: without it the pages are small ones
            #[cfg(target_os = "linux")]
            let _ = map.advise(memmap2::Advice::HugePage);
            return Self(Kept::Pages { map, length });
        }
        Self(Kept::Heap(vec![T::zeroed(); length]))
    }
}

impl<T: Pod> Deref for Buffer<T> {
    type Target = [T];
    #[inline]
    fn deref(&self) -> &[T] {
        match &self.0 {
            Kept::Heap(v) => v,
            Kept::Pages { map, length } => &bytemuck::cast_slice(map)[..*length],
        }
    }
}

impl<T: Pod> DerefMut for Buffer<T> {
    #[inline]
    fn deref_mut(&mut self) -> &mut [T] {
        match &mut self.0 {
            Kept::Heap(v) => v,
            Kept::Pages { map, length } => &mut bytemuck::cast_slice_mut(map)[..*length],
        }
    }
}

impl<T: Pod> From<Vec<T>> for Buffer<T> {
    fn from(v: Vec<T>) -> Self {
        Self(Kept::Heap(v))
    }
}

impl<T: Pod> FromIterator<T> for Buffer<T> {
    fn from_iter<I: IntoIterator<Item = T>>(items: I) -> Self {
        let items = items.into_iter();
        let (least, most) = items.size_hint();
        if Some(least) != most || least.saturating_mul(size_of::<T>()) < LARGE {
            return Self::from(items.collect::<Vec<T>>());
        }
        let mut out = Self::zeroed(least);
        let mut filled = 0;
        for (to, from) in out.iter_mut().zip(items) {
            *to = from;
            filled += 1;
        }
        if filled < least { Self::from(out[..filled].to_vec()) } else { out }
    }
}

impl<'a, T: Pod> IntoIterator for &'a Buffer<T> {
    type Item = &'a T;
    type IntoIter = std::slice::Iter<'a, T>;
    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl<T: Pod> Clone for Buffer<T> {
    fn clone(&self) -> Self {
        match &self.0 {
            Kept::Heap(v) => Self(Kept::Heap(v.clone())),
            Kept::Pages { length, .. } => {
                let mut out = Self::zeroed(*length);
                out.copy_from_slice(self);
                out
            }
        }
    }
}

impl<T: Pod + PartialEq> PartialEq for Buffer<T> {
    fn eq(&self, other: &Self) -> bool {
        **self == **other
    }
}

impl<T: Pod + PartialEq> PartialEq<Vec<T>> for Buffer<T> {
    fn eq(&self, other: &Vec<T>) -> bool {
        **self == **other
    }
}

impl<T: Pod + fmt::Debug> fmt::Debug for Buffer<T> {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        (**self).fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn large_and_small_buffers_hold_the_same() {
        for n in [0, 1, 1000, LARGE / 4, LARGE / 4 + 1, 3 * PAGE / 4 + 5] {
            let mut a = Buffer::<f32>::zeroed(n);
            assert!(a.len() == n && a.iter().all(|v| *v == 0.0));
            a.iter_mut().enumerate().for_each(|(i, v)| *v = i as f32);
            let b: Buffer<f32> = (0..n).map(|i| i as f32).collect();
            let c: Buffer<f32> = (0..n).map(|i| i as f32).filter(|_| true).collect();
            assert!(a == b && a == c && a == a.clone() && a == a.to_vec(), "{n}");
            assert_eq!(cfg!(target_os = "linux") && n >= LARGE / 4, matches!(b.0, Kept::Pages { .. }), "{n}");
        }
        assert_eq!(format!("{:?}", Buffer::from(vec![1u8, 2])), "[1, 2]");
        assert!(Buffer::<u8>::default().is_empty());
    }

    /// An iterator may end before its stated length.
    #[test]
    fn what_is_not_given_is_not_there() {
        struct Short(usize);
        impl Iterator for Short {
            type Item = u8;
            fn next(&mut self) -> Option<u8> {
                self.0 = self.0.checked_sub(1)?;
                Some(7)
            }
            fn size_hint(&self) -> (usize, Option<usize>) {
                (PAGE, Some(PAGE))
            }
        }
        assert_eq!(Short(10).collect::<Buffer<u8>>(), Buffer::from(vec![7; 10]));
    }
}
