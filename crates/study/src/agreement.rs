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

/// Cohen's kappa of every pair of judges, on average over the pairs that have one; each thing is judged by all of
/// them, equally many, as a class below `classes`. None without two judgements of anything.
///
/// Source: Light, 1971, Measures of response agreement for qualitative data.
pub fn pairwise(judgements: &[Vec<usize>], classes: usize) -> Option<Kappa> {
    let judges = judgements.first()?.len();
    let pairs = (0..judges).flat_map(|a| (a + 1..judges).map(move |b| (a, b)));
    let each: Vec<Kappa> = pairs.filter_map(|(a, b)| cohen(&crossed(judgements, classes, a, b)?)).collect();
    let mean = |of: &dyn Fn(&Kappa) -> Option<f64>| {
        let known: Vec<f64> = each.iter().filter_map(of).collect();
        (!known.is_empty()).then(|| known.iter().sum::<f64>() / known.len() as f64)
    };
    Some(Kappa {
        observed: mean(&|k| Some(k.observed))?,
        expected: mean(&|k| Some(k.expected))?,
        kappa: mean(&|k| k.kappa),
    })
}

/// How often judge `a` said class i and judge `b` class j; none if one of them did not judge everything.
fn crossed(judgements: &[Vec<usize>], classes: usize, a: usize, b: usize) -> Option<Vec<Vec<usize>>> {
    let mut table = vec![vec![0; classes]; classes];
    for judged in judgements {
        table[*judged.get(a)?][*judged.get(b)?] += 1;
    }
    Some(table)
}
