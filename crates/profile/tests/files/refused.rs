//! A good file, changed in one place, is refused for exactly the faults that the change makes.

use profile::ProfileError;
use std::fmt::Debug;

/// A change to a good file, and the faults that it is refused for.
pub type Case = (&'static str, &'static str, &'static [&'static str]);

/// Parses the good file, which must be taken, and each change of it, which must be refused.
pub fn refused<T: Debug>(good: &str, parse: fn(&str, &str) -> Result<T, ProfileError>, cases: &[Case]) {
    parse("ours.toml", good).unwrap_or_else(|error| panic!("{error}"));
    for (from, to, due) in cases {
        assert!(good.contains(from), "{from:?} is not in the good file");
        let error = parse("ours.toml", &good.replacen(from, to, 1)).expect_err(to);
        let told: Vec<String> = error.faults().iter().map(|fault| fault.to_string()).collect();
        assert_eq!(told, *due, "{to:?}");
    }
}
