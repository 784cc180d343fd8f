//! Chance against figures computed with scipy, written down and asked anew, and replays against
//! published PERT networks.

mod common;

use pourwright::chance::{
    Beta, BetaNegativeBinomial, Counts, Mixed, NegativeBinomial, Pert, Sample, Tables, replay,
};
use rand::RngExt;
use rand_distr::{Distribution, StandardNormal};
use serde_json::json;

fn near(found: f64, wanted: f64, within: f64, what: &str) {
    assert!((found - wanted).abs() <= within, "{what}: {found}, wanted {wanted}");
}

fn beta(a: f64, b: f64) -> Beta {
    Beta::new(a, b).expect("both above 0")
}

#[test]
fn belief_after_two_of_nine() {
    // scipy.stats.beta, 2 against of 9 upon Beta(1, 3); the mean is 3/13.
    let prior = beta(1.0, 3.0);
    near(prior.mean(), 0.25, 0.0, "mean of the prior");
    let belief = prior.after(2, 7);
    assert_eq!(belief, beta(3.0, 10.0));
    near(belief.mean(), 3.0 / 13.0, 1e-15, "mean");
    for (chance, wanted) in [
        (0.025, 0.054860645),
        (0.05, 0.071870256),
        (0.10, 0.095652906),
        (0.25, 0.145852030),
        (0.50, 0.216686411),
        (0.75, 0.301178830),
        (0.90, 0.385521691),
        (0.95, 0.438105435),
        (0.975, 0.484137749),
    ] {
        near(belief.quantile(chance), wanted, 6e-10, "quantile");
        near(belief.cdf(wanted), chance, 1e-8, "cdf");
    }
    near(1.0 - belief.cdf(0.3), 0.252815348, 6e-10, "P(p > .3)");
    near(1.0 - belief.cdf(0.5), 0.019287109375, 1e-12, "P(p > .5)");
    near(belief.cdf(0.1), 0.110869978, 6e-10, "P(p < .1)");
    assert_eq!((belief.quantile(0.0), belief.quantile(1.0)), (0.0, 1.0));
    // Priors at the edge: mean, 5 %, 95 % (scipy.stats.beta).
    for (a, b, mean, low, high) in [
        (1.0, 1.0, 0.5, 0.05, 0.95),
        (1.0, 6.0, 0.142857, 0.008512, 0.393038),
        (0.5, 0.5, 0.5, 0.006156, 0.993844),
        (0.5, 5.5, 0.083333, 0.000374, 0.305746),
        (5.5, 0.5, 0.916667, 0.694254, 0.999626),
        (6.0, 3.0, 0.666667, 0.400311, 0.888887),
    ] {
        let belief = beta(a, b);
        near(belief.mean(), mean, 6e-7, "mean");
        near(belief.quantile(0.05), low, 6e-7, "5 %");
        near(belief.quantile(0.95), high, 6e-7, "95 %");
    }
    for (a, b) in [(0.0, 1.0), (1.0, -1.0), (f64::NAN, 1.0), (1.0, f64::INFINITY)] {
        assert_eq!(Beta::new(a, b), None);
    }
}

#[test]
fn tries_until_so_many_are_good() {
    // k; plug-in mean, P50, P80, P90, P95, cdf at P90 (scipy.stats.nbinom, p = 10/13); the same of
    // the predictive (scipy.stats.betanbinom(k, 10, 3)). The predictive P50 at k = 10 stands on a
    // cdf of exactly 1/2.
    type Row = (u64, f64, [u64; 4], f64, f64, [u64; 4], f64);
    let rows: [Row; 7] = [
        (1, 1.3, [1, 2, 2, 3], 0.94675, 1.3333, [1, 2, 2, 3], 0.93407),
        (2, 2.6, [2, 3, 4, 4], 0.95935, 2.6667, [2, 3, 4, 5], 0.93681),
        (5, 6.5, [6, 8, 8, 9], 0.91108, 6.6667, [6, 8, 9, 10], 0.91950),
        (8, 10.4, [10, 12, 13, 14], 0.94299, 10.6667, [10, 12, 14, 16], 0.91533),
        (10, 13.0, [13, 15, 16, 17], 0.94548, 13.3333, [12, 15, 17, 19], 0.90436),
        (20, 26.0, [26, 28, 30, 31], 0.93441, 26.6667, [25, 30, 34, 37], 0.91354),
        (50, 65.0, [65, 69, 71, 73], 0.92199, 66.6667, [64, 75, 83, 91], 0.90710),
    ];
    let check = |d: &dyn Counts, mean: f64, quantiles: [u64; 4], at_p90: f64| {
        near(d.mean().expect("finite"), mean, 6e-5, "mean");
        for (chance, wanted) in [0.5, 0.8, 0.9, 0.95].into_iter().zip(quantiles) {
            assert_eq!(d.quantile(chance), Some(wanted), "P{}", 100.0 * chance);
        }
        near(d.cdf(quantiles[2]), at_p90, 6e-6, "cdf at P90");
    };
    for (k, mean, quantiles, at_p90, their_mean, their_quantiles, their_at) in rows {
        let plug_in = NegativeBinomial::new(k, 10.0 / 13.0).expect("a chance");
        check(&plug_in, mean, quantiles, at_p90);
        let predictive = BetaNegativeBinomial::new(k, beta(10.0, 3.0)).expect("one wanted");
        check(&predictive, their_mean, their_quantiles, their_at);
    }
    let predictive = BetaNegativeBinomial::new(10, beta(10.0, 3.0)).expect("one wanted");
    for (count, exact) in [
        (10, 1.0 / 7.0),
        (11, 53.0 / 161.0),
        (12, 0.5),
        (13, 205.0 / 322.0),
        (17, 63337.0 / 70035.0),
    ] {
        near(predictive.cdf(count), exact, 1e-12, "exact cdf");
    }
    // Nothing certain: the mean of a heavy tail is infinite, a sure thing takes what it takes.
    let heavy = BetaNegativeBinomial::new(3, beta(1.0, 2.0)).expect("one wanted");
    assert_eq!(heavy.mean(), None);
    assert_eq!(heavy.quantile(1.0), None);
    let sure = NegativeBinomial::new(4, 1.0).expect("a chance");
    assert_eq!((sure.quantile(0.5), sure.quantile(1.0)), (Some(4), Some(4)));
    near(sure.pmf(4), 1.0, 1e-14, "a sure thing");
    assert!(NegativeBinomial::new(0, 0.5).is_none() && NegativeBinomial::new(1, 0.0).is_none());
}

#[test]
fn equal_to_scipy() {
    let mut dice = replay(4_000, 11, |random| random.random::<f64>()).into_iter();
    let mut roll = |low: f64, high: f64| low + (high - low) * dice.next().expect("enough");
    let mut question = json!({});
    let betas: Vec<[f64; 4]> = (0..200)
        .map(|_| [roll(0.3, 60.0), roll(0.3, 60.0), roll(0.0, 1.0), roll(0.01, 0.99)])
        .collect();
    let counts: Vec<(u64, f64, f64, u64, f64)> = (0..60)
        .map(|_| {
            let wanted = roll(1.0, 40.0) as u64;
            let (a, b) = (roll(2.0, 30.0), roll(0.4, 30.0));
            (wanted, a, b, roll(0.0, 60.0) as u64, roll(0.02, 0.97))
        })
        .collect();
    question["beta"] = json!(betas);
    question["beta_negative_binomial"] = json!(counts);
    question["negative_binomial"] =
        json!(counts.iter().map(|&(k, a, b, n, c)| (k, a / (a + b), n, c)).collect::<Vec<_>>());
    // A chance of a good one that is known as a range, as PERT, and always above 0.05.
    let ranges: Vec<(u64, [f64; 3], u64, f64)> = (0..30)
        .map(|_| {
            let mut three = [roll(0.05, 1.0), roll(0.05, 1.0), roll(0.05, 1.0)];
            three.sort_by(f64::total_cmp);
            let good = roll(1.0, 12.0) as u64;
            (good, three, good + roll(0.0, 30.0) as u64, roll(0.02, 0.97))
        })
        .collect();
    question["mixed"] = json!(ranges);
    let Some(answer) = common::ask("chances against scipy", "chance", &question) else { return };
    let number = |kind: &str, at: usize, key: &str| {
        answer[kind][at][key].as_f64().expect("scipy tells a number")
    };
    let close = |found: f64, wanted: f64, what: &str| {
        near(found, wanted, 1e-9 * wanted.abs() + 1e-12, what);
    };
    for (at, &[a, b, x, chance]) in betas.iter().enumerate() {
        let d = beta(a, b);
        close(d.mean(), number("beta", at, "mean"), "mean");
        near(d.cdf(x), number("beta", at, "cdf"), 1e-10, "cdf");
        near(d.quantile(chance), number("beta", at, "quantile"), 1e-9, "quantile");
    }
    for (at, &(k, a, b, count, chance)) in counts.iter().enumerate() {
        let belief = beta(a, b);
        let until = BetaNegativeBinomial::new(k, belief).expect("one wanted");
        let plug_in = NegativeBinomial::new(k, belief.mean()).expect("a chance");
        let kinds: [(&str, &dyn Counts); 2] =
            [("beta_negative_binomial", &until), ("negative_binomial", &plug_in)];
        for (kind, d) in kinds {
            let what = format!("{kind} {:?}", counts[at]);
            close(d.mean().expect("a is above 1"), number(kind, at, "mean"), &what);
            near(d.pmf(count), number(kind, at, "pmf"), 1e-10, &what);
            near(d.cdf(count), number(kind, at, "cdf"), 1e-9, &what);
            assert_eq!(d.quantile(chance), answer[kind][at]["quantile"].as_u64(), "{what}");
        }
    }
    for (at, &(k, [low, likely, high], count, chance)) in ranges.iter().enumerate() {
        let pert = Pert::new(low, likely, high).expect("in order");
        let chances = (0..400).map(|n| pert.quantile((f64::from(n) + 0.5) / 400.0));
        let mixed = Mixed::new(k, chances).expect("chances");
        let what = format!("mixed {:?}", ranges[at]);
        // Four hundred chances stand for all of the range; scipy integrates over it.
        near(mixed.mean().expect("finite"), number("mixed", at, "mean"), 2e-3 * k as f64, &what);
        near(mixed.pmf(count), number("mixed", at, "pmf"), 2e-4, &what);
        near(mixed.cdf(count), number("mixed", at, "cdf"), 5e-4, &what);
        let found = mixed.quantile(chance).expect("below a million");
        let at_found = mixed.cdf(found);
        let theirs = answer["mixed"][at]["quantile"].as_u64().expect("a count");
        assert!(found == theirs || (at_found - chance).abs() < 5e-4, "{what}: {found}, {theirs}");
    }
}

/// Least, likely, most and the indices waited for.
type Network = &'static [(f64, f64, f64, &'static [usize])];

/// scribd.com/presentation/396883604, "PRIME-CPM unit 4", problem 1: A to J.
const UNIT4: Network = &[
    (5.0, 6.0, 7.0, &[]),
    (1.0, 3.0, 5.0, &[]),
    (1.0, 4.0, 7.0, &[]),
    (1.0, 2.0, 3.0, &[0]),
    (1.0, 2.0, 9.0, &[1]),
    (1.0, 5.0, 9.0, &[2]),
    (2.0, 2.0, 8.0, &[2]),
    (4.0, 4.0, 10.0, &[4, 5]),
    (2.0, 5.0, 8.0, &[3]),
    (2.0, 2.0, 8.0, &[7, 6]),
];

/// coursehero.com/file/p2vl9tn, slides to ch. 17 of W. J. Stevenson, Operations Management: A to I.
const STEVENSON: Network = &[
    (5.0, 6.0, 7.0, &[]),
    (8.0, 8.0, 11.0, &[]),
    (6.0, 8.0, 11.0, &[0]),
    (9.0, 12.0, 15.0, &[]),
    (5.0, 6.0, 9.0, &[2]),
    (5.0, 6.0, 7.0, &[3]),
    (2.0, 3.0, 7.0, &[5]),
    (4.0, 4.0, 5.0, &[1]),
    (5.0, 7.0, 8.0, &[7]),
];

/// Mean and its standard error, s / sqrt(n).
fn average(sample: &Sample) -> (f64, f64) {
    let n = sample.sorted().len() as f64;
    let mean = sample.sorted().iter().sum::<f64>() / n;
    let squares: f64 = sample.sorted().iter().map(|v| (v - mean).powi(2)).sum();
    (mean, (squares / (n - 1.0) / n).sqrt())
}

fn finishes(network: Network, count: u64, seed: u64) -> Vec<f64> {
    let mut tables = Tables::default();
    let pert: Vec<_> = network.iter().map(|&(a, m, b, _)| tables.pert([a, m, b])).collect();
    replay(count, seed, |random| {
        let mut ends = Vec::with_capacity(network.len());
        // Activities are listed in an order that need not be one of time: go until all are placed.
        let drawn: Vec<f64> =
            pert.iter().map(|p| tables.at(p, StandardNormal.sample(random))).collect();
        ends.resize(network.len(), f64::NAN);
        while ends.iter().any(|e| e.is_nan()) {
            for (i, (_, _, _, befores)) in network.iter().enumerate() {
                let start = befores.iter().map(|b| ends[*b]).fold(0.0, |a: f64, b| {
                    if a.is_nan() || b.is_nan() { f64::NAN } else { a.max(b) }
                });
                ends[i] = start + drawn[i];
            }
        }
        ends.into_iter().fold(0.0, f64::max)
    })
}

#[test]
fn pert_networks_replayed() {
    // Mean, sd and P10 P50 P80 P90 P95 of an independent million draws with numpy; P(finish <= t).
    let unit4 = (17.1706, 2.0748, [14.560, 17.056, 18.936, 19.938, 20.767], (20.0, 0.90473));
    let other = (21.8961, 1.2087, [20.384, 21.820, 22.907, 23.507, 24.022], (21.0, 0.24454));
    for (network, (mean, sd, quantiles, (by, share))) in [(UNIT4, unit4), (STEVENSON, other)] {
        let sample = Sample::new(finishes(network, 100_000, 5)).expect("numbers");
        let (found, error) = average(&sample);
        near(error, sd / 100_000f64.sqrt(), 0.02 * error, "standard error");
        near(found, mean, 4.0 * error, "mean");
        for (chance, wanted) in [0.1, 0.5, 0.8, 0.9, 0.95].into_iter().zip(quantiles) {
            let q = sample.quantile(chance);
            assert!(q.low <= q.value && q.value <= q.high);
            // Twice the interval that holds the truth 95 times in a hundred: some 4 sigma.
            let reach = q.high - q.low;
            near(q.value, wanted, reach, &format!("P{}", 100.0 * chance));
            assert!(reach < 0.08, "an interval of {reach} from 100,000 is too wide");
        }
        let done = sample.sorted().iter().filter(|end| **end <= by).count() as f64;
        near(done / 100_000.0, share, 0.005, "chance to be done");
    }
}

#[test]
fn three_estimates() {
    // Mean and beta-PERT variance of rows of the two networks above, to four digits.
    for (least, likely, most, middle, variance) in [
        (1.0, 2.0, 9.0, 3.0, 1.7143),
        (8.0, 8.0, 11.0, 8.5, 0.1786),
        (5.0, 7.0, 8.0, 6.8333, 0.3056),
    ] {
        let pert = Pert::new(least, likely, most).expect("in order");
        let mut tables = Tables::default();
        let of = tables.pert([least, likely, most]);
        let draw = |random: &mut _| tables.at(&of, StandardNormal.sample(random));
        let drawn = Sample::new(replay(40_000, 3, draw)).expect("numbers");
        let (found, error) = average(&drawn);
        // A mode is rounded to a 120th of the range, which moves the mean by a 360th at most.
        near(found, middle, 4.0 * error + (most - least) / 360.0, "mean of the drawn");
        near(error.powi(2) * 40_000.0, variance, 0.03 * variance, "variance of the drawn");
        let median = drawn.quantile(0.5);
        near(median.value, pert.quantile(0.5), 2.0 * (median.high - median.low), "median");
        assert!(drawn.sorted().iter().all(|x| (least..=most).contains(x)));
    }
    let fixed = Pert::new(4.0, 4.0, 4.0).expect("in order");
    assert_eq!((fixed.quantile(0.1), fixed.quantile(0.9)), (4.0, 4.0));
    for (a, m, b) in
        [(2.0, 1.0, 3.0), (1.0, 4.0, 3.0), (f64::NAN, 1.0, 2.0), (0.0, 1.0, f64::INFINITY)]
    {
        assert_eq!(Pert::new(a, m, b), None);
    }
}

#[test]
fn the_same_on_any_number_of_threads() {
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        pool.install(|| finishes(UNIT4, 2_000, 9))
    };
    let one = on(1);
    assert_eq!(one, on(2));
    assert_eq!(one, on(7));
    assert_ne!(one, finishes(UNIT4, 2_000, 10));
    // A replay is known by its number alone.
    let first = |count: u64| replay(count, 9, |random| random.random::<u64>());
    assert_eq!(first(3)[..2], first(2));
    assert_ne!(first(2)[0], first(2)[1]);
}

#[test]
fn intervals_hold_the_truth_as_often_as_they_say() {
    // Of 2,000 samples of 60 uniform values, how many intervals hold the true quantile; the
    // interval of order statistics promises 95 % or more (David and Nagaraja, section 7.1).
    for chance in [0.1, 0.5, 0.9] {
        let held = replay(2_000, 17, |random| {
            let drawn = (0..60).map(|_| random.random::<f64>()).collect();
            let q = Sample::new(drawn).expect("numbers").quantile(chance);
            q.low <= chance && chance <= q.high
        });
        let share = held.iter().filter(|h| **h).count() as f64 / 2_000.0;
        assert!((0.94..0.995).contains(&share), "{share} at {chance}");
    }
    let few = Sample::new(vec![2.0, 1.0]).expect("numbers").quantile(0.9);
    assert_eq!((few.value, few.high), (2.0, f64::INFINITY));
    assert_eq!(Sample::new(vec![]), None);
    assert_eq!(Sample::new(vec![f64::NAN]), None);
}
