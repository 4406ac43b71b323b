//! Jobs made up by hand: faces with stated verdicts, cables with stated losses.

use handover::{Cable, Connector, Inspection, Job, Owed, Picture};
use links::Measured;
use report::FaceRecord;

/// A record of one row with these verdicts: `P`, `F`, `U`.
pub fn face(verdicts: &str) -> FaceRecord {
    let word = |c| match c {
        'P' => "pass",
        'F' => "fail",
        _ => "ungraded",
    };
    let source = r#"{"faith": "from-memory", "text": "Table 4, recalled"}"#;
    let position = |(k, c): (usize, char)| {
        let reasons = match c {
            'P' => String::new(),
            _ => format!(r#"{{"code": "told", "text": "why position {} is {}"}}"#, k + 1, word(c)),
        };
        format!(
            r#"{{"position": {n}, "row": 1, "column": {n}, "verdict": "{v}", "reasons": [{reasons}], "source": 0,
            "centre_px": [10.0, 10.0], "nominal_um": [0.0, 0.0], "core": "dark", "features": [], "findings": [
            {{"zone": "A", "rule": "defects", "limit": "none", "observed": 0, "verdict": "pass", "subject": "defects",
            "conformity": 1.0, "counted": [], "source": {source}}}]}}"#,
            n = k + 1,
            v = word(c)
        )
    };
    let positions: Vec<String> = verdicts.chars().enumerate().map(position).collect();
    let whole = ['F', 'U'].into_iter().find(|c| verdicts.contains(*c)).unwrap_or('P');
    let text = format!(
        r#"{{"schema": "pitchline.face/1", "tool": {{"name": "pitchline", "version": "0.1.0"}},
        "sources": [{{"file": "a<b>.png", "sha256": "{hash}", "width_px": 9, "height_px": 9}}], "layout": "mpo-12",
        "view": {{"key": "up", "mirrored": false}}, "criteria": {{"id": "iec-61300-3-35-ed2-mm", "title": "Multimode",
        "document": "IEC 61300-3-35", "edition": "2", "faith": "from-memory", "zones": [], "counting":
        {{"defects_across": "innermost", "scratches_across": "innermost", "measure": "enclosing-circle",
        "smallest_counted_um": 2.0, "must_see_um": 2.0, "source": {source}}}}},
        "scale": {{"um_per_px": 0.5, "standard_uncertainty": 0.001, "method": "lattice"}},
        "quality": {{"gradable": true, "reasons": []}}, "verdict": "{verdict}", "positions": [{positions}],
        "guides": "not-in-view", "face_marks": [], "poses": [{{}}]}}"#,
        hash = "0".repeat(64),
        verdict = word(whole),
        positions = positions.join(",")
    );
    // Verdicts are stated without the marks that would give them, so that it is no record to be read.
    serde_json::from_str(&text).unwrap()
}

pub fn look(when: &str, verdicts: &str) -> Inspection {
    let picture = Picture { jpeg: vec![0xff, 0xd8, 0xff, 0xd9], width: 4, height: 2 };
    Inspection {
        when: when.to_owned(),
        face: face(verdicts),
        sha256: "a".repeat(64),
        row: Some(picture.clone()),
        fibres: vec![(1, picture)],
        unproven: None,
    }
}

pub fn connector(name: &str, looks: &[&str]) -> Connector {
    let inspections = looks.iter().enumerate().map(|(k, v)| look(&format!("visit {}", k + 1), v)).collect();
    Connector { identifier: name.to_owned(), inspections, past: vec![], since: None }
}

pub fn cable(name: &str, connectors: Vec<Connector>) -> Cable {
    Cable { identifier: name.to_owned(), connectors, measured: Measured::default(), doubts: Vec::new() }
}

pub fn job(cables: Vec<Cable>) -> Job {
    Job {
        title: "Harbour hall 3".to_owned(),
        date: "2026-11-25".to_owned(),
        version: "0.1.0".to_owned(),
        cables,
        matings: Vec::new(),
        owed: vec![Owed { connector: (0, 0), why: "it met cord R2 after its last pass".to_owned() }],
        cords: Vec::new(),
        proof: None,
        taken_back: vec![],
        unjoined: vec!["line 7: \"TR-99\" is no cable of this job".to_owned()],
        cautions: vec!["Never look into a fibre.".to_owned()],
        origins: Vec::new(),
    }
}

/// A grey ramp of 600 x 80 pixels.
pub fn row_picture() -> Picture {
    Picture { jpeg: include_bytes!("pictures/row.jpg").to_vec(), width: 600, height: 80 }
}

/// A grey ramp of 64 x 64 pixels.
pub fn fibre_picture() -> Picture {
    Picture { jpeg: include_bytes!("pictures/fibre.jpg").to_vec(), width: 64, height: 64 }
}
