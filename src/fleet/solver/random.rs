//! A small seeded generator: xoshiro256++ (Blackman and Vigna, Scrambled linear pseudorandom number generators, ACM
//! Transactions on Mathematical Software 47, 2021; from memory), seeded by splitmix64.

/// A stream of random numbers; the same seed and stream give the same numbers on every machine.
#[derive(Clone, Debug)]
pub struct Random([u64; 4]);

fn splitmix(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

impl Random {
    /// The stream of this number of this seed; streams of one seed are independent for all that a search can tell.
    #[must_use]
    pub fn new(seed: u64, stream: u64) -> Self {
        let mut state = seed;
        let mut state = splitmix(&mut state) ^ stream.wrapping_mul(0xD6E8_FEB8_6659_FD93);
        Self(std::array::from_fn(|_| splitmix(&mut state)))
    }

    /// The next 64 random bits.
    pub fn bits(&mut self) -> u64 {
        let s = &mut self.0;
        let result = s[0].wrapping_add(s[3]).rotate_left(23).wrapping_add(s[0]);
        let t = s[1] << 17;
        s[2] ^= s[0];
        s[3] ^= s[1];
        s[1] ^= s[2];
        s[0] ^= s[3];
        s[2] ^= t;
        s[3] = s[3].rotate_left(45);
        result
    }

    /// One of 0, 1, ... `n` - 1; 0 for `n` = 0. Off from even by less than `n` / 2^32, which no search can tell.
    pub fn below(&mut self, n: usize) -> usize {
        (((self.bits() >> 32) * n as u64) >> 32) as usize
    }

    /// A number from 0 to below 1.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 * (1.0 / 9_007_199_254_740_992.0)
    }

    /// Puts the items into random order.
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for i in (1..items.len()).rev() {
            items.swap(i, self.below(i + 1));
        }
    }
}
