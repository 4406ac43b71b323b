//! Bounds of a share. "Recomputed" values were computed with another program from the definition.

use crate::near;
use study::binomial::{Share, most_events};

/// Lower one-sided 95 % bounds that practice quotes for demonstrations of 90 % detection: 29 of 29, 45 of 46,
/// 59 of 61, 73 of 76 (recomputed with scipy's beta quantiles).
#[test]
fn demonstrations_of_ninety_percent() {
    let table = [
        (29, 29, 0.901_855),
        (45, 46, 0.900_976),
        (59, 61, 0.900_365),
        (73, 76, 0.901_130),
        (28, 28, 0.898_534),
        (59, 59, 0.950_492),
    ];
    for (count, of, bound) in table {
        near(Share { count, of }.lower(0.95), bound, 5e-7);
    }
}

/// All hit: the bound is the n-th root of the risk, by hand.
#[test]
fn the_ends_are_closed_forms() {
    let none = Share { count: 0, of: 40 };
    near(none.upper(0.95), 1.0 - 0.05f64.powf(1.0 / 40.0), 1e-12);
    assert_eq!((none.lower(0.95), none.value()), (0.0, Some(0.0)));
    let all = Share { count: 12, of: 12 };
    near(all.lower(0.975), 0.025f64.powf(1.0 / 12.0), 1e-12);
    assert_eq!(all.upper(0.95), 1.0);
    let nothing = Share::default();
    assert_eq!((nothing.value(), nothing.lower(0.95), nothing.upper(0.95)), (None, 0.0, 1.0));
}

#[test]
fn bounds_lie_about_the_share_and_widen_with_confidence() {
    let share = Share::of((0..50).map(|k| k % 5 == 0));
    assert_eq!(share, Share { count: 10, of: 50 });
    let (wide, narrow) = (share.interval(0.99), share.interval(0.9));
    assert!(wide.0 < narrow.0 && narrow.0 < 0.2 && 0.2 < narrow.1 && narrow.1 < wide.1);
    assert_eq!(narrow.0, share.lower(0.95));
}

/// None seen: minus the logarithm of the risk, by hand; 1, 2 and 10 seen: printed tables of Poisson limits.
#[test]
fn events_have_the_tables_upper_bounds() {
    near(most_events(0, 0.95), -(0.05f64.ln()), 1e-9);
    for (count, bound) in [(1, 4.744), (2, 6.296), (10, 16.962)] {
        near(most_events(count, 0.95), bound, 5e-4);
    }
}
