//! Writes a trace file by the published layout, from memory and apart from the reader: both formats.

/// One event as it is written.
pub struct Written {
    pub time: u32,
    pub slope: i16,
    pub loss: i16,
    pub reflectance: i32,
    pub code: &'static str,
    pub comment: &'static str,
}

/// Four events of an invented link of about 205 m.
pub const EVENTS: [Written; 4] = [
    Written { time: 0, slope: 0, loss: 120, reflectance: -41_250, code: "1F9999LS", comment: "" },
    Written { time: 2_500, slope: 341, loss: 55, reflectance: 0, code: "0F99992P", comment: "tray 3" },
    Written { time: 7_320, slope: 352, loss: -18, reflectance: -52_000, code: "1A9999LS", comment: "" },
    Written { time: 10_040, slope: 349, loss: 0, reflectance: -14_700, code: "2E9999LS", comment: "far end" },
];

fn z(out: &mut Vec<u8>, text: &str) {
    out.extend(text.as_bytes());
    out.push(0);
}

fn general(two: bool, cable: &str, fibre: &str) -> Vec<u8> {
    let mut out = b"EN".to_vec();
    z(&mut out, cable);
    z(&mut out, fibre);
    if two {
        out.extend(652u16.to_le_bytes());
    }
    out.extend(1310u16.to_le_bytes());
    z(&mut out, "1A-B24");
    z(&mut out, "2C-A03");
    z(&mut out, "TR-12");
    out.extend(b"BC");
    out.extend(0i32.to_le_bytes());
    if two {
        out.extend(0i32.to_le_bytes());
    }
    z(&mut out, "R. Lindqvist");
    z(&mut out, "after patching");
    out
}

fn fixed(two: bool, points: u32) -> Vec<u8> {
    let mut out = 1_790_000_000u32.to_le_bytes().to_vec();
    out.extend(b"mt");
    out.extend(13_102u16.to_le_bytes());
    out.extend(0i32.to_le_bytes());
    if two {
        out.extend(0i32.to_le_bytes());
    }
    out.extend(1u16.to_le_bytes());
    out.extend(10u16.to_le_bytes());
    out.extend(500_000u32.to_le_bytes());
    out.extend(points.to_le_bytes());
    out.extend(146_820u32.to_le_bytes());
    out.extend(790u16.to_le_bytes());
    out.extend(4096u32.to_le_bytes());
    if two {
        out.extend(150u16.to_le_bytes());
    }
    out.extend(20_000u32.to_le_bytes());
    if two {
        out.extend(0i32.to_le_bytes());
    }
    out.extend(0i32.to_le_bytes());
    for value in [32_000u16, 1000, 0, 50, 65_000, 3_000] {
        out.extend(value.to_le_bytes());
    }
    if two {
        out.extend(b"ST");
        out.extend([0; 16]);
    }
    out
}

fn key_events(two: bool) -> Vec<u8> {
    let mut out = (EVENTS.len() as u16).to_le_bytes().to_vec();
    for (number, event) in (1u16..).zip(&EVENTS) {
        out.extend(number.to_le_bytes());
        out.extend(event.time.to_le_bytes());
        out.extend(event.slope.to_le_bytes());
        out.extend(event.loss.to_le_bytes());
        out.extend(event.reflectance.to_le_bytes());
        out.extend(event.code.as_bytes());
        if two {
            out.extend([0; 20]);
        }
        z(&mut out, event.comment);
    }
    out.extend(298i32.to_le_bytes());
    out.extend(0i32.to_le_bytes());
    out.extend(10_040u32.to_le_bytes());
    out.extend(27_310u16.to_le_bytes());
    out.extend(0i32.to_le_bytes());
    out.extend(10_040u32.to_le_bytes());
    out
}

fn data(points: u32) -> Vec<u8> {
    let mut out = points.to_le_bytes().to_vec();
    out.extend(1u16.to_le_bytes());
    out.extend(points.to_le_bytes());
    out.extend(1000u16.to_le_bytes());
    (0..points).for_each(|k| out.extend((20_000 + 3 * k as u16).to_le_bytes()));
    out
}

/// The CCITT polynomial by long division, bit by bit of the whole message with sixteen zero bits behind it.
fn remainder(bytes: &[u8]) -> u16 {
    let mut register: u32 = 0xffff;
    for byte in bytes {
        for bit in (0..8).rev() {
            let incoming = u32::from(byte >> bit & 1) ^ (register >> 15 & 1);
            register = (register << 1) & 0xffff;
            if incoming == 1 {
                register ^= 0x1021;
            }
        }
    }
    register as u16
}

/// A whole file of format 1 or 2 for a cable and a fibre.
pub fn file(two: bool, cable: &str, fibre: &str) -> Vec<u8> {
    let points = 40;
    let mut instrument = Vec::new();
    ["Nordwind Works", "N-40", "0017", "", "", "1.2", ""].iter().for_each(|text| z(&mut instrument, text));
    let mut blocks = vec![
        ("GenParams", general(two, cable, fibre)),
        ("SupParams", instrument),
        ("FxdParams", fixed(two, points)),
        ("NotKnown", vec![7; 11]),
        ("KeyEvents", key_events(two)),
        ("DataPts", data(points)),
        ("Cksum", vec![0, 0]),
    ];
    if two {
        for (name, body) in &mut blocks {
            let mut named = Vec::new();
            z(&mut named, name);
            named.append(body);
            *body = named;
        }
    }
    let revision: u16 = if two { 200 } else { 100 };
    let mut map = Vec::new();
    blocks.iter().for_each(|(name, body)| {
        z(&mut map, name);
        map.extend(revision.to_le_bytes());
        map.extend((body.len() as u32).to_le_bytes());
    });
    let mut out = if two { b"Map\0".to_vec() } else { Vec::new() };
    let size = out.len() + 8 + map.len();
    out.extend(revision.to_le_bytes());
    out.extend((size as u32).to_le_bytes());
    out.extend((blocks.len() as u16 + 1).to_le_bytes());
    out.extend(map);
    blocks.iter().for_each(|(_, body)| out.extend(body));
    let end = out.len() - 2;
    let sum = remainder(&out[..end]);
    out[end..].copy_from_slice(&sum.to_le_bytes());
    out
}
