//! The committed schemas are those of the types; `PITCHLINE_BLESS=1 cargo test -p book` writes them anew.

use std::path::Path;

#[test]
fn the_committed_schemas_are_those_of_the_types() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../profiles/schema");
    for (name, made) in [("trace", book::schema::trace()), ("owed", book::schema::owed())] {
        let (path, made) = (folder.join(format!("{name}.schema.json")), made.unwrap());
        if std::env::var_os("PITCHLINE_BLESS").is_some() {
            std::fs::write(&path, &made).unwrap();
        }
        assert_eq!(std::fs::read_to_string(&path).unwrap(), made, "{name}");
    }
}
