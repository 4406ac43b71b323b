//! Chance that depends on nothing but numbers: every draw is a hash of a seed and of what it is for, so that
//! the same face comes out in any order of work and on any number of threads.

/// What a stream of draws is for; keeps the streams of one seed apart.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Topic {
    Fibre = 1,
    Grain,
    Mottle,
    Polish,
    Guide,
    Shape,
    Dirt,
    Sensor,
    HotPixel,
    Camera,
    Study,
}

const GOLDEN: u64 = 0x9E37_79B9_7F4A_7C15;

/// The finaliser of SplitMix64 (Steele, Lea and Flood, 2014, "Fast splittable pseudorandom number generators").
pub(crate) const fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// A hash of a seed and two whole numbers.
pub(crate) const fn hash(seed: u64, a: i64, b: i64) -> u64 {
    let first = mix(seed.wrapping_add((a as u64).wrapping_mul(GOLDEN)));
    mix(first.wrapping_add((b as u64).wrapping_mul(0xD1B5_4A32_D192_ED03)).wrapping_add(GOLDEN))
}

/// The seed of one topic under a seed.
pub(crate) const fn topic_seed(seed: u64, topic: Topic) -> u64 {
    hash(seed, topic as i64, 0x5EED)
}

/// A number in [0, 1) from the upper 53 bits.
pub(crate) fn unit(bits: u64) -> f64 {
    (bits >> 11) as f64 / (1u64 << 53) as f64
}

/// A stream of draws: SplitMix64 started at a hashed state.
#[derive(Clone, Debug)]
pub(crate) struct Stream {
    state: u64,
}

impl Stream {
    /// The stream of `topic` and of the numbers `a`, `b` under `seed`.
    pub(crate) fn new(seed: u64, topic: Topic, a: i64, b: i64) -> Stream {
        Stream { state: hash(topic_seed(seed, topic), a, b) }
    }

    /// The next 64 bits.
    pub(crate) fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(GOLDEN);
        mix(self.state)
    }

    /// The next number in [0, 1).
    pub(crate) fn unit(&mut self) -> f64 {
        unit(self.bits())
    }

    /// The next number in [low, high).
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// The next number in [low, high), spread evenly over its logarithm.
    pub(crate) fn log_between(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.unit())
    }

    /// True with the given chance.
    pub(crate) fn chance(&mut self, share: f64) -> bool {
        self.unit() < share
    }

    /// A whole number from 0 to `count` - 1; 0 if `count` is 0.
    pub(crate) fn below(&mut self, count: usize) -> usize {
        ((self.unit() * count as f64) as usize).min(count.saturating_sub(1))
    }

    /// A number of the standard normal distribution (Box and Muller, 1958).
    pub(crate) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }

    /// A point spread evenly over the disc of the given radius about (0, 0).
    pub(crate) fn in_disc(&mut self, radius: f64) -> (f64, f64) {
        let (r, angle) = (radius * self.unit().sqrt(), std::f64::consts::TAU * self.unit());
        (r * angle.cos(), r * angle.sin())
    }

    /// How many of a thing that comes `mean` times on average (Poisson; Knuth's product of draws).
    pub(crate) fn count(&mut self, mean: f64) -> usize {
        let floor = (-mean).exp();
        let (mut product, mut count) = (self.unit(), 0);
        while product > floor {
            product *= self.unit();
            count += 1;
        }
        count
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first outputs of SplitMix64 from seed 1234567, as listed by Rosetta Code ("Pseudo-random
    /// numbers/Splitmix64"; from memory).
    #[test]
    fn the_stream_is_splitmix64() {
        let mut stream = Stream { state: 1_234_567 };
        let expected = [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
            4_593_380_528_125_082_431,
            16_408_922_859_458_223_821,
        ];
        for value in expected {
            assert_eq!(stream.bits(), value);
        }
    }

    #[test]
    fn draws_have_the_moments_of_their_kind() {
        let mut s = Stream::new(5, Topic::Study, 0, 0);
        let n = 40_000;
        let normal: Vec<f64> = (0..n).map(|_| s.normal()).collect();
        let mean = normal.iter().sum::<f64>() / f64::from(n);
        let var = normal.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / f64::from(n);
        assert!(mean.abs() < 0.02 && (var - 1.0).abs() < 0.03, "{mean} {var}");
        let counts = (0..n).map(|_| s.count(3.5) as f64).sum::<f64>() / f64::from(n);
        assert!((counts - 3.5).abs() < 0.04, "{counts}");
    }

    #[test]
    fn topics_and_numbers_give_streams_of_their_own() {
        let first = |topic, a, b| Stream::new(9, topic, a, b).bits();
        let all = [
            first(Topic::Fibre, 0, 0),
            first(Topic::Grain, 0, 0),
            first(Topic::Fibre, 1, 0),
            first(Topic::Fibre, 0, 1),
        ];
        for (i, a) in all.iter().enumerate() {
            assert!(all[..i].iter().all(|b| a != b));
        }
    }
}
