//! Sets of joined pixels as they come up level by level: union-find over the pixels of a picture, each set known by a number.

/// Above the present level.
const NONE: u32 = u32::MAX;

pub(super) struct Joined {
    /// Parent of each pixel in its set.
    parent: Vec<u32>,
    /// Number of the set of each root pixel.
    set_of: Vec<u32>,
}

impl Joined {
    /// So many pixels, none of which has come up.
    pub fn new(pixels: usize) -> Self {
        Self { parent: vec![NONE; pixels], set_of: vec![NONE; pixels] }
    }
    /// Whether a pixel has come up.
    pub fn is_up(&self, i: usize) -> bool {
        self.parent[i] != NONE
    }
    /// A pixel comes up as the first of a set.
    pub fn begin(&mut self, i: usize, set: usize) {
        (self.parent[i], self.set_of[i]) = (i as u32, set as u32);
    }
    /// A pixel comes up in the set of another one, whose number is the answer.
    pub fn enter(&mut self, i: usize, other: usize) -> usize {
        let root = self.root(other);
        self.parent[i] = root as u32;
        self.set_of[root] as usize
    }
    /// The set of a pixel that has come up.
    pub fn set(&mut self, i: usize) -> usize {
        let root = self.root(i);
        self.set_of[root] as usize
    }
    /// Makes one of the sets of two pixels: the one that goes on, which is the larger by `size`, and the one that ends. `None` where they are
    /// in one set.
    pub fn join(&mut self, a: usize, b: usize, size: impl Fn(usize) -> f64) -> Option<(usize, usize)> {
        let (a, b) = (self.root(a), self.root(b));
        if a == b {
            return None;
        }
        let (i, j) = (self.set_of[a] as usize, self.set_of[b] as usize);
        let ((big, i), (small, j)) = if size(i) >= size(j) { ((a, i), (b, j)) } else { ((b, j), (a, i)) };
        self.parent[small] = big as u32;
        Some((i, j))
    }
    fn root(&mut self, mut i: usize) -> usize {
        while self.parent[i] as usize != i {
            let up = self.parent[self.parent[i] as usize];
            self.parent[i] = up;
            i = up as usize;
        }
        i
    }
}
