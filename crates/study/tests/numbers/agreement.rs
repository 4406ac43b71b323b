//! Agreement of repeated judgements.

use crate::near;
use study::agreement::{cohen, fleiss, pairwise};

/// Three pairs of appraisers, 150 decisions each (AIAG, 2010, Measurement Systems Analysis, attribute study; the
/// tables from memory, the results recomputed), and the textbook table of the public encyclopaedia's article.
#[test]
fn two_judges() {
    let table = [
        ([[44, 6], [3, 97]], 0.94, 0.862_944),
        ([[42, 5], [9, 94]], 0.906_667, 0.788_007),
        ([[43, 8], [7, 92]], 0.9, 0.776_119),
        ([[20, 5], [10, 15]], 0.7, 0.4),
    ];
    for (counts, observed, kappa) in table {
        let found = cohen(&counts.map(|row| row.to_vec())).unwrap();
        near(found.observed, observed, 1e-6);
        near(found.kappa.unwrap(), kappa, 1e-6);
    }
    near(cohen(&[vec![44, 6], vec![3, 97]]).unwrap().expected, 0.562_222, 1e-6);
}

/// The public encyclopaedia's example: 14 judges, 10 things, 5 classes.
#[test]
fn many_judges() {
    let counts = [
        [0, 0, 0, 0, 14],
        [0, 2, 6, 4, 2],
        [0, 0, 3, 5, 6],
        [0, 3, 9, 2, 0],
        [2, 2, 8, 1, 1],
        [7, 7, 0, 0, 0],
        [3, 2, 6, 3, 0],
        [2, 5, 3, 2, 2],
        [6, 5, 2, 1, 0],
        [0, 2, 2, 3, 7],
    ];
    near(fleiss(&counts.map(|row| row.to_vec())).unwrap().kappa.unwrap(), 0.209_931, 1e-6);
}

/// Three judges of four things, by hand: the first two agree on three of four (kappa 0.5), the third says 1 to all,
/// which agrees with either by chance alone (kappa 0).
#[test]
fn pairs_of_judges_are_averaged() {
    let judged = vec![vec![0, 0, 1], vec![0, 1, 1], vec![1, 1, 1], vec![1, 1, 1]];
    let found = pairwise(&judged, 2).unwrap();
    near(found.observed, (0.75 + 0.5 + 0.75) / 3.0, 1e-12);
    near(found.kappa.unwrap(), 0.5 / 3.0, 1e-12);
    let two: Vec<Vec<usize>> = judged.iter().map(|j| j[..2].to_vec()).collect();
    near(
        pairwise(&two, 2).unwrap().kappa.unwrap(),
        cohen(&[vec![1, 1], vec![0, 2]]).unwrap().kappa.unwrap(),
        1e-12,
    );
}

#[test]
fn what_chance_gives_as_well_has_no_kappa() {
    let one_class = cohen(&[vec![9, 0], vec![0, 0]]).unwrap();
    assert_eq!((one_class.observed, one_class.kappa), (1.0, None));
    assert_eq!(fleiss(&[vec![3, 0], vec![3, 0]]).unwrap().kappa, None);
    assert_eq!(cohen(&[vec![0, 0], vec![0, 0]]), None);
    assert_eq!(fleiss(&[]), None);
    assert_eq!(fleiss(&[vec![2, 1], vec![2, 0]]), None, "unequally many judges");
    assert_eq!(fleiss(&[vec![1, 0]]), None, "one judge");
    assert_eq!(pairwise(&[vec![1], vec![0]], 2), None);
    assert_eq!(pairwise(&[vec![1, 1], vec![0]], 2), None, "a judgement is missing");
}
