//! Bit planes of a band of rows, and counters that add them up.
//!
//! A plane holds one bit per cell and is stored column of words by column of words (bits along x, words along y),
//! because a piece that crosses rows then fills neighbouring words. Sixteen planes at a time go through a tree of
//! full adders into eight counter planes, bit by bit (carry-save adders; Harley and Seal's population count turned
//! sideways, Mula, Kurz and Lemire, Computer Journal 61, 2018): about five logic operations per 64 cells and draw.

/// Draws that are added together.
pub(super) const GROUP: usize = 16;
/// Words handled side by side: one or two vector registers.
pub(super) const LANES: usize = 8;
/// Bits of a counter; it holds 255 draws.
const BITS: usize = 8;

type Lane = [u64; LANES];

/// The planes of one group of draws and the counters of one task, for a band of rows.
pub(super) struct Planes {
    words: usize,
    height: usize,
    /// [`GROUP`] planes of `stride` words.
    draws: Vec<u64>,
    stride: usize,
    /// For each lane of a plane, its [`BITS`] counter lanes.
    counters: Vec<[Lane; BITS]>,
}

impl Planes {
    /// Planes of `words` columns of words; `height` rows, a multiple of [`LANES`].
    pub(super) fn new(words: usize, height: usize) -> Self {
        let stride = words * height;
        Self {
            words,
            height,
            draws: vec![0; GROUP * stride],
            stride,
            counters: vec![[[0; LANES]; BITS]; stride / LANES],
        }
    }

    /// The plane of one draw of the group: word `w` of row `j` is at `w * height + j`.
    pub(super) fn draw_mut(&mut self, k: usize) -> &mut [u64] {
        &mut self.draws[k * self.stride..(k + 1) * self.stride]
    }

    /// Adds the planes of the group to the counters and clears them.
    #[inline(always)]
    pub(super) fn add_group(&mut self) {
        for (at, counter) in self.counters.iter_mut().enumerate() {
            let lane = |k: usize| {
                let from = k * self.stride + at * LANES;
                let mut lane = [0; LANES];
                lane.copy_from_slice(&self.draws[from..from + LANES]);
                lane
            };
            let [ones, twos, fours, eights, high @ ..] = counter;
            let mut carry = add8(ones, twos, fours, [0, 1, 2, 3, 4, 5, 6, 7].map(lane));
            let second = add8(ones, twos, fours, [8, 9, 10, 11, 12, 13, 14, 15].map(lane));
            carry = add(eights, carry, second);
            for bit in high {
                for i in 0..LANES {
                    (bit[i], carry[i]) = (bit[i] ^ carry[i], bit[i] & carry[i]);
                }
            }
        }
        self.draws.fill(0);
    }

    /// Adds the counters to `out`, rows of `cols` counts, and clears them.
    pub(super) fn flush(&mut self, out: &mut [u32], cols: usize) {
        for (row, counts) in out.chunks_mut(cols).enumerate() {
            for w in 0..self.words {
                let at = w * self.height + row;
                let bits = self.counters[at / LANES].map(|lane| lane[at % LANES].to_le_bytes());
                for (byte, cells) in counts[64 * w..].chunks_mut(8).take(8).enumerate() {
                    let square = u64::from_le_bytes(bits.map(|plane| plane[byte]));
                    for (cell, count) in cells.iter_mut().zip(transpose(square).to_le_bytes()) {
                        *cell += u32::from(count);
                    }
                }
            }
        }
        self.counters.fill([[0; LANES]; BITS]);
    }
}

/// Full adder: `sum` becomes the sum's low bit, the high bit is returned.
#[inline(always)]
fn add(sum: &mut Lane, a: Lane, b: Lane) -> Lane {
    let mut carry = [0; LANES];
    for i in 0..LANES {
        let half = sum[i] ^ a[i];
        carry[i] = (sum[i] & a[i]) | (half & b[i]);
        sum[i] = half ^ b[i];
    }
    carry
}

/// Adds eight planes to the three lowest counters; the carry has weight eight.
#[inline(always)]
fn add8(ones: &mut Lane, twos: &mut Lane, fours: &mut Lane, x: [Lane; 8]) -> Lane {
    let pairs = [add(ones, x[0], x[1]), add(ones, x[2], x[3]), add(ones, x[4], x[5]), add(ones, x[6], x[7])];
    let quads = [add(twos, pairs[0], pairs[1]), add(twos, pairs[2], pairs[3])];
    add(fours, quads[0], quads[1])
}

/// Transposes a square of 8 x 8 bits (Warren, Hacker's Delight, 2nd ed., section 7-3).
fn transpose(mut x: u64) -> u64 {
    for (shift, mask) in
        [(7, 0x00AA_00AA_00AA_00AA), (14, 0x0000_CCCC_0000_CCCC), (28, 0x0000_0000_F0F0_F0F0)]
    {
        let swap = (x ^ (x >> shift)) & mask;
        x ^= swap ^ (swap << shift);
    }
    x
}
