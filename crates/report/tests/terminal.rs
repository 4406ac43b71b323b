//! Terminal text, as a technician reads it.
use crate::sample;
use report::terminal::{self, Style};

#[test]
fn show() {
    println!(
        "{}",
        terminal::face(
            &sample::record(1, 12),
            &["out/face.json".into(), "out/map.png".into(), "out/map.svg".into()],
            Style::default()
        )
    );
    println!("{}", terminal::face(&sample::record(2, 16), &[], Style::default()));
    println!("{}", terminal::criteria(&sample::criteria(), Style::default()));
}
