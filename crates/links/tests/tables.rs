//! Tables of loss by a mapping: what is read, and what is said of what is not.

use links::{LossRow, Mapping, TableError, Told, read_table};

const MAPPING: &str = r#"
format = "pitchline.losses/1"
delimiter = ";"
decimal = ","
[columns]
identifier = "Cable ID"
fibre = "Fibre"
wavelength = "Wavelength (um)"
loss = "Loss"
length = "Length (km)"
limit = "Limit"
verdict = "Result"
direction = "Dir"
ignored = ["Operator"]
[units]
length = "km"
wavelength = "um"
[words]
pass = ["OK"]
fail = ["NOK"]
"#;

const HEAD: &str = "Cable ID;Fibre;Wavelength (um);Loss;Length (km);Limit;Result;Dir;Operator";

fn table(lines: &[&str]) -> links::LossTable {
    let text = format!("\u{feff}{HEAD}\r\n{}\r\n", lines.join("\r\n"));
    read_table(text.as_bytes(), &Mapping::parse(MAPPING).unwrap()).unwrap()
}

#[test]
fn a_line_is_read_with_its_units_and_decimal_comma() {
    let table = table(&["TR-12;3;0,85;-0,31;0,2045;1,9;ok;A to B;M. Vahl"]);
    let row = &table.rows[0];
    assert!(table.notes.is_empty(), "{:?}", table.notes);
    assert_eq!((row.line, row.identifier.as_str(), row.fibre), (2, "TR-12", Some(3)));
    assert_eq!((row.wavelength_nm, row.loss_db, row.limit_db), (Some(850.0), -0.31, Some(1.9)));
    assert!((row.length_m.unwrap() - 204.5).abs() < 1e-9);
    assert_eq!((row.verdict, row.direction.as_deref()), (Some(Told::Pass), Some("A to B")));
}

#[test]
fn every_line_that_cannot_be_used_is_named_with_its_number() {
    let table = table(&[
        "TR-12;1;0,85;0,30;0,2;1,9;OK;A;x",
        ";2;0,85;0,30;0,2;1,9;OK;A;x",
        "TR-12;2;0,85;0.30;0,2;1,9;OK;A;x",
        "TR-12;two;0,85;0,30;0,2;1,9;OK;A;x",
        "TR-12;3;0,85;;0,2;1,9;OK;A;x",
        "TR-12;4;0,85;0,30;0,2;1,9;perhaps;A;x",
        "TR-12;5;0,85;0,30",
        "tr-12 ;1;0,85;0,44;0,2;1,9;OK;A;x",
        "TR-12;6;850;0,30;0,2;1,9;OK;A;x",
        "TR-12;7;0,85;0,30;-0,2;1,9;OK;A;x",
        "",
    ]);
    assert_eq!(table.rows.len(), 1);
    let said: Vec<(u64, &str)> = table.notes.iter().map(|n| (n.line, n.text.as_str())).collect();
    let wanted = [
        (3, "no identifier"),
        (4, "the loss \"0.30\" is no number with the decimal sign ','"),
        (5, "the fibre \"two\""),
        (6, "no loss"),
        (7, "the verdict \"perhaps\""),
        (8, "4 cells under 9 headings"),
        (9, "measured already on line 2, with another loss"),
        (10, "the wavelength is not from 400 to 2000 nm"),
        (11, "the length is below zero"),
    ];
    assert_eq!(said.len(), wanted.len(), "{said:?}");
    for ((line, text), (at, begins)) in said.iter().zip(wanted) {
        assert!(*line == at && text.starts_with(begins), "{line}: {text}");
    }
}

#[test]
fn a_verdict_against_its_own_limit_is_told_and_left_as_it_is() {
    let table = table(&["TR-12;1;0,85;2,10;0,2;1,9;OK;A;x", "TR-12;2;0,85;0,10;0,2;1,9;NOK;A;x"]);
    assert_eq!(table.rows[0].verdict, Some(Told::Pass));
    let told: Vec<_> = table.rows.iter().map(LossRow::contradiction).collect();
    assert_eq!(
        told,
        [Some("pass, and its loss lies over its limit"), Some("fail, and its loss lies within its limit")]
    );
    assert!(table.notes.is_empty(), "a line that is used is not among those that are not");
}

#[test]
fn unknown_and_missing_columns_are_named() {
    let mapping = "format = \"pitchline.losses/1\"\n[columns]\nidentifier = \"Cable\"\nloss = \"Loss\"\n";
    let mapping = Mapping::parse(mapping).unwrap();
    let read = read_table(b"Cable,Loss,Mood\nTR-1,0.2,fine\n", &mapping).unwrap();
    assert!(read.notes[0].line == 1 && read.notes[0].text.contains("\"Mood\" is not in the mapping"));
    let why = read_table(b"Cable;Loss\nTR-1;0.2\n", &mapping).unwrap_err();
    assert!(why.to_string().contains("\"Cable\" (identifier), \"Loss\" (loss)"), "{why}");
    assert_eq!(read_table(b"", &mapping), Err(TableError::Empty));
    assert_eq!(read_table(b"Cable,Loss,Loss\n", &mapping), Err(TableError::Doubled("Loss".to_owned())));
    let why = read_table(b"Cable,Loss\nTR-\xff,0.2\n", &mapping).unwrap_err();
    assert!(why.to_string().contains("line 2: the text is not UTF-8"), "{why}");
}

#[test]
fn all_faults_of_a_mapping_are_listed_at_once() {
    let wrong = MAPPING
        .replace("\"pitchline.losses/1\"", "\"losses\"")
        .replace("delimiter = \";\"", "delimiter = \",\"")
        .replace("length = \"km\"", "length = \"mile\"")
        .replace("[\"NOK\"]", "[\"ok\"]")
        .replace("\"Operator\"", "\"Loss\"");
    let said = Mapping::parse(&wrong).unwrap_err().to_string();
    for part in ["format is", "both a comma", "\"mile\"", "both a pass and a fail", "\"Loss\" is named twice"]
    {
        assert!(said.contains(part), "{part} is missing in {said}");
    }
    let said = Mapping::parse("format = 3").unwrap_err().to_string();
    assert!(said.starts_with("the mapping does not read") && !said.contains('\n'), "{said}");
    let said = Mapping::parse("format = \"pitchline.losses/1\"\n[columns\n").unwrap_err().to_string();
    assert!(said.contains("does not read: line 2: unclosed table") && !said.contains('|'), "{said}");
}
