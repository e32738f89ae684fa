//! Some of a list's values, by their order: for medians of windows that move over it.

/// Values of a list that are chosen; which is the k-th of them is told without ordering them anew.
#[derive(Debug)]
pub struct Chosen<'a> {
    values: &'a [f32],
    /// Place in the list by rank, and rank by place.
    places: Vec<u32>,
    ranks: Vec<u32>,
    /// A bit for each rank that is chosen.
    words: Vec<u64>,
    /// How many are chosen in the words before `word`.
    before: usize,
    word: usize,
}

/// Bits to a word.
const BITS: usize = u64::BITS as usize;

/// The bits of a number in the order of [`f32::total_cmp`].
fn ordered(value: f32) -> u32 {
    let bits = value.to_bits();
    if bits >> 31 == 1 { !bits } else { bits | 1 << 31 }
}

impl<'a> Chosen<'a> {
    /// None of a list of at most 2³² values.
    pub fn none_of(values: &'a [f32]) -> Self {
        let mut order: Vec<u64> = values.iter().zip(0u64..).map(|(v, i)| u64::from(ordered(*v)) << 32 | i).collect();
        order.sort_unstable();
        let places: Vec<u32> = order.into_iter().map(|o| o as u32).collect();
        let mut ranks = vec![0; values.len()];
        places.iter().zip(0..).for_each(|(place, rank)| ranks[*place as usize] = rank);
        Self { values, places, ranks, words: vec![0; values.len().div_ceil(BITS)], before: 0, word: 0 }
    }
    /// Chooses the value at a place, which was not chosen.
    pub fn put(&mut self, place: usize) {
        let (word, bit) = self.bit(place);
        self.words[word] |= bit;
        self.before += usize::from(word < self.word);
    }
    /// Leaves the value at a place, which was chosen.
    pub fn take(&mut self, place: usize) {
        let (word, bit) = self.bit(place);
        self.words[word] &= !bit;
        self.before -= usize::from(word < self.word);
    }
    fn bit(&self, place: usize) -> (usize, u64) {
        let rank = self.ranks[place] as usize;
        (rank / BITS, 1 << (rank % BITS))
    }
    /// The chosen value above so many others of them; `None` where there are no more than so many.
    pub fn at(&mut self, others: usize) -> Option<f32> {
        let count = |words: &[u64], word: usize| words.get(word).map(|w| w.count_ones() as usize);
        while self.before > others {
            self.word -= 1;
            self.before -= count(&self.words, self.word)?;
        }
        while self.before + count(&self.words, self.word)? <= others {
            self.before += count(&self.words, self.word)?;
            self.word += 1;
        }
        let mut word = self.words[self.word];
        for _ in self.before..others {
            word &= word - 1;
        }
        Some(self.values[self.places[self.word * BITS + word.trailing_zeros() as usize] as usize])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against sorting what is chosen.
    #[test]
    fn the_kth_of_those_chosen() {
        let values: Vec<f32> = (0..300).map(|i| ((i * i * 31) % 97) as f32 - 48.0).chain([0.0, -0.0]).collect();
        let mut chosen = Chosen::none_of(&values);
        assert_eq!(chosen.at(0), None);
        let mut inside: Vec<usize> = Vec::new();
        for i in 0..2000 {
            let place = (i * i * 7 + i) % values.len();
            match inside.iter().position(|p| *p == place) {
                Some(at) => {
                    inside.swap_remove(at);
                    chosen.take(place);
                }
                None => {
                    inside.push(place);
                    chosen.put(place);
                }
            }
            let mut sorted: Vec<f32> = inside.iter().map(|p| values[*p]).collect();
            sorted.sort_by(f32::total_cmp);
            for k in [0, i % 7, sorted.len() / 2, sorted.len()] {
                assert_eq!(chosen.at(k).map(f32::to_bits), sorted.get(k).map(|v| v.to_bits()), "{k} of {}", sorted.len());
            }
        }
    }
}
