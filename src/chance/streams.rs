//! Many replays of something uncertain, the same on any number of threads.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rayon::prelude::*;

/// Random bits of one replay. Streams of one seed do not overlap: ChaCha reckons its bits from key,
/// stream number and a counter.
pub type Stream = ChaCha8Rng;

/// Runs `one` for the replays numbered 0 to `count`, on all threads of the pool; results are in the
/// order of their numbers and depend on the seed alone.
pub fn replay<T: Send>(count: u64, seed: u64, one: impl Fn(&mut Stream) -> T + Sync) -> Vec<T> {
    let start = Stream::seed_from_u64(seed);
    (0..count)
        .into_par_iter()
        .map(|number| {
            let mut stream = start.clone();
            stream.set_stream(number);
            one(&mut stream)
        })
        .collect()
}
