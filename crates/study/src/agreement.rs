//! How far repeated judgements of the same things agree beyond chance.

/// Share of equal judgements, and what is left of it when chance is taken off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kappa {
    /// Share of equal judgements.
    pub observed: f64,
    /// Share that chance would give.
    pub expected: f64,
    /// (observed - expected) / (1 - expected); none where all judgements are of one class, which chance gives
    /// as well.
    pub kappa: Option<f64>,
}

impl Kappa {
    fn new(observed: f64, expected: f64) -> Kappa {
        let kappa = (expected < 1.0 - 1e-12).then(|| (observed - expected) / (1.0 - expected));
        Kappa { observed, expected, kappa }
    }
}

/// Agreement of two judges from how often they called a thing class i and class j; none for an empty table.
///
/// Source: Cohen, 1960, A coefficient of agreement for nominal scales.
pub fn cohen(table: &[Vec<usize>]) -> Option<Kappa> {
    let total: usize = table.iter().flatten().sum();
    if total == 0 {
        return None;
    }
    let n = total as f64;
    let row = |i: usize| table[i].iter().sum::<usize>() as f64 / n;
    let column = |j: usize| table.iter().map(|r| r[j]).sum::<usize>() as f64 / n;
    let classes = 0..table.len();
    let observed = classes.clone().map(|i| table[i][i] as f64 / n).sum();
    Some(Kappa::new(observed, classes.map(|i| row(i) * column(i)).sum()))
}

/// Agreement of many judgements of each thing: a row for each thing, how often it was called each class; all
/// rows have the same sum, two or more. None where that does not hold.
///
/// Source: Fleiss, 1971, Measuring nominal scale agreement among many raters.
pub fn fleiss(counts: &[Vec<usize>]) -> Option<Kappa> {
    let judges: usize = counts.first()?.iter().sum();
    let classes = counts[0].len();
    if judges < 2 || counts.iter().any(|row| row.len() != classes || row.iter().sum::<usize>() != judges) {
        return None;
    }
    let (things, m) = (counts.len() as f64, judges as f64);
    let pairs = |row: &Vec<usize>| row.iter().map(|&c| c as f64 * (c as f64 - 1.0)).sum::<f64>();
    let observed = counts.iter().map(pairs).sum::<f64>() / (things * m * (m - 1.0));
    let share = |k: usize| counts.iter().map(|row| row[k]).sum::<usize>() as f64 / (things * m);
    Some(Kappa::new(observed, (0..classes).map(|k| share(k).powi(2)).sum()))
}

/// Cohen's kappa over all pairs of judges, each thing judged by all of them as a class below `classes`: the tables
/// of all pairs of judges are added up and made symmetric, so that no judge is the first.
/// None without two judgements of anything.
pub fn pairwise(judgements: &[Vec<usize>], classes: usize) -> Option<Kappa> {
    let mut table = vec![vec![0; classes]; classes];
    for judged in judgements {
        for (k, &a) in judged.iter().enumerate() {
            for &b in &judged[k + 1..] {
                table[a][b] += 1;
                table[b][a] += 1;
            }
        }
    }
    cohen(&table)
}
