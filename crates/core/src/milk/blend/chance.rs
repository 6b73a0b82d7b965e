//! How likely each limit holds when foods differ from their table, by seeded simulation.

use super::program::{Limit, dot};

/// Uniform numbers from a seed: the `SplitMix64` generator (Steele, Lea and Flood 2014).
#[derive(Debug, Clone)]
pub struct Numbers(u64);

impl Numbers {
    #[must_use]
    pub const fn from_seed(seed: u64) -> Self {
        Self(seed)
    }

    pub fn next_u64(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// In (0, 1).
    #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
    fn uniform(&mut self) -> f64 {
        ((self.next_u64() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// Two independent standard normal numbers (Box and Muller 1958).
    pub fn normal_pair(&mut self) -> (f64, f64) {
        let r = (-2.0 * self.uniform().ln()).sqrt();
        let angle = std::f64::consts::TAU * self.uniform();
        (r * angle.cos(), r * angle.sin())
    }
}

/// Draws one value of each figure about 1, never below 0.
pub(super) fn draw(numbers: &mut Numbers, deviation: &[f64], factors: &mut [f64]) {
    for (pair, sd) in factors.chunks_mut(2).zip(deviation.chunks(2)) {
        let (a, b) = numbers.normal_pair();
        for ((factor, sd), z) in pair.iter_mut().zip(sd).zip([a, b]) {
            *factor = (1.0 + sd * z).max(0.0);
        }
    }
}

/// How often a limit holds when what each food takes varies by its own share.
#[must_use]
pub fn chance_of(limit: &Limit, grams: &[f64], deviation: &[f64], draws: u32, seed: u64) -> f64 {
    let mut numbers = Numbers::from_seed(seed);
    let mut factors = vec![1.0; grams.len()];
    let mut held = 0u32;
    for _ in 0..draws {
        draw(&mut numbers, deviation, &mut factors);
        let takes: Vec<f64> = limit.takes.iter().zip(&factors).map(|(t, f)| t * f).collect();
        held += u32::from(dot(&takes, grams) <= limit.most);
    }
    f64::from(held) / f64::from(draws)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_generator_vector() {
        // Rosetta Code, "Pseudo-random numbers/Splitmix64", seed 1234567 (from memory), and the
        // first output for seed 0, 0xE220A8397B1DCDAF, in the reference code's own test vectors.
        let mut numbers = Numbers::from_seed(1_234_567);
        let first: Vec<u64> = (0..5).map(|_| numbers.next_u64()).collect();
        assert_eq!(
            first,
            [
                6_457_827_717_110_365_317,
                3_203_168_211_198_807_973,
                9_817_491_932_198_370_423,
                4_593_380_528_125_082_431,
                16_408_922_859_458_223_821,
            ]
        );
        assert_eq!(Numbers::from_seed(0).next_u64(), 0xE220_A839_7B1D_CDAF);
    }

    #[test]
    fn normal_numbers_have_their_moments() {
        // Standard errors at 200 000 draws: mean 0.0022, variance 0.0032.
        let mut numbers = Numbers::from_seed(7);
        let all: Vec<f64> = (0..100_000).flat_map(|_| <[f64; 2]>::from(numbers.normal_pair())).collect();
        #[expect(clippy::cast_precision_loss, reason = "a count")]
        let n = all.len() as f64;
        let mean = all.iter().sum::<f64>() / n;
        let variance = all.iter().map(|z| (z - mean).powi(2)).sum::<f64>() / n;
        assert!(mean.abs() < 0.009 && (variance - 1.0).abs() < 0.013, "{mean} {variance}");
    }
}
