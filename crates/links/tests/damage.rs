//! Files damaged at random are read or refused in a sentence, and never stop the program.

use crate::writer::file;
use links::{Mapping, read_table, read_trace};

/// Numbers that repeat from a seed (xorshift; Marsaglia, 2003, Xorshift RNGs).
struct Random(u64);

impl Random {
    fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % n as u64) as usize
    }

    /// The bytes with some of them changed, and sometimes cut.
    fn damaged(&mut self, bytes: &[u8]) -> Vec<u8> {
        let mut out = bytes.to_vec();
        for _ in 0..=self.below(6) {
            let at = self.below(out.len());
            out[at] = [0, 1, 0x7f, 0x80, 0xff, b',', b'"', self.below(256) as u8][self.below(8)];
        }
        if self.below(3) == 0 {
            out.truncate(self.below(out.len() + 1));
        }
        out
    }
}

#[test]
fn damaged_traces_never_panic_and_are_told_in_one_line() {
    let mut random = Random(0x5eed_0001);
    let (mut read, mut refused) = (0, 0);
    for round in 0..40_000 {
        let bytes = random.damaged(&file(round % 2 == 0, "TR-12", "7"));
        match read_trace(&bytes) {
            Ok(trace) => {
                read += 1;
                assert!(trace.events.iter().all(|e| e.metres.is_finite()));
            }
            Err(why) => {
                refused += 1;
                assert!(!why.to_string().contains('\n'), "{why}");
            }
        }
    }
    assert!(read > 1000 && refused > 1000, "{read} read, {refused} refused");
}

#[test]
fn every_cut_of_a_trace_is_refused() {
    for two in [false, true] {
        let bytes = file(two, "TR-12", "7");
        for end in 0..bytes.len() {
            assert!(read_trace(&bytes[..end]).is_err(), "{end}");
        }
    }
}

#[test]
fn damaged_tables_never_panic() {
    let mapping = Mapping::parse(
        "format = \"pitchline.losses/1\"\n[columns]\nidentifier = \"Cable\"\nloss = \"Loss\"\n",
    )
    .unwrap();
    let table = b"Cable,Loss\nTR-12,0.31\nTR-13,\"0.40\"\nTR-14,0.22\n";
    let mut random = Random(0x5eed_0002);
    let mut rows = 0;
    for _ in 0..20_000 {
        if let Ok(table) = read_table(&random.damaged(table), &mapping) {
            rows += table.rows.len();
            assert!(table.rows.iter().all(|r| r.loss_db.is_finite()));
        }
    }
    assert!(rows > 1000, "{rows}");
}
