//! `pitchline polarity`: a cable's map from pictures of its far end with light in known fibres.

use crate::args::PolarityArgs;
use crate::failure::Failure;
use crate::inputs;
use crate::output;
use crate::profiles;
use crate::progress::Progress;
use grade::CableMap;
use grade::traced::{Sight, trace};
use report::lit::{LitInputs, LitRecord};
use report::{SourceInfo, terminal};
use std::path::PathBuf;
use survey::Settings;
use terms::{Core, Layout, Look, Survey, View};

/// Exit statuses of a cable that departs from its type, and of one that cannot be told.
const DEPARTS: u8 = 1;
const UNTOLD: u8 = 3;

/// What was seen of the far end in one picture.
struct Seen {
    source: SourceInfo,
    sight: Sight,
    lights: Vec<Option<f64>>,
}

/// Looks at every picture, derives the map and prints it.
pub fn run(args: &PolarityArgs) -> Result<u8, Failure> {
    let layout = profiles::layout(&args.layout)?;
    let wanted: Vec<(Vec<u16>, PathBuf)> =
        args.sights.iter().map(|word| parsed(word, &layout)).collect::<Result<_, _>>()?;
    let stated = args.cable.as_deref().map(|name| profiles::cable(name, &layout)).transpose()?;
    let view = View { key: args.key.into(), mirrored: args.mirrored };
    let progress = Progress::new(args.json);
    progress.step("looking");
    let seen: Vec<Seen> =
        wanted.into_iter().map(|(lit, path)| look(lit, path, &layout, view)).collect::<Result<_, _>>()?;
    drop(progress);
    once(&seen, &args.sights)?;

    let sights: Vec<Sight> = seen.iter().map(|s| s.sight.clone()).collect();
    let traced = trace(&sights, &cables(stated.as_ref(), &layout));
    let (sources, lights): (Vec<_>, Vec<_>) =
        seen.into_iter().map(|s| ((s.source, s.sight), s.lights)).unzip();
    let record = LitRecord::new(LitInputs {
        layout: &layout.id,
        view,
        sights: &sources,
        lights: &lights,
        traced: &traced,
        stated: stated.as_ref().map(CableMap::id),
        cautions: profile::cautions("light"),
        tool_version: env!("CARGO_PKG_VERSION"),
    });
    output::print(&match args.json {
        true => record.to_json()?,
        false => terminal::lit(&record, output::style()),
    })?;
    Ok(match record.agrees {
        Some(true) => 0,
        Some(false) => DEPARTS,
        None => UNTOLD,
    })
}

/// Refuses a picture that is given for two lights: it shows one of them at most.
fn once(seen: &[Seen], words: &[String]) -> Result<(), Failure> {
    for (i, later) in seen.iter().enumerate() {
        if let Some(first) =
            seen.iter().take(i).position(|earlier| earlier.source.sha256 == later.source.sha256)
        {
            return Err(Failure::OneLight { first: words[first].clone(), again: words[i].clone() });
        }
    }
    Ok(())
}

/// "1,3=picture.png".
fn parsed(word: &str, layout: &Layout) -> Result<(Vec<u16>, PathBuf), Failure> {
    let none = || Failure::NoSight { sight: word.to_owned() };
    let (positions, path) = word.split_once('=').filter(|(_, path)| !path.is_empty()).ok_or_else(none)?;
    let lit: Vec<u16> =
        positions.split(',').map(|p| p.trim().parse()).collect::<Result<_, _>>().map_err(|_| none())?;
    match lit.iter().find(|p| !layout.places.iter().any(|place| place.position == **p)) {
        Some(&position) => Err(Failure::NoPosition { layout: layout.id.clone(), position }),
        None => Ok((lit, PathBuf::from(path))),
    }
}

/// The stated type first, then every built-in one that the layout has.
fn cables(stated: Option<&CableMap>, layout: &Layout) -> Vec<CableMap> {
    let mut all: Vec<CableMap> = stated.into_iter().cloned().collect();
    for cable in profile::cable_ids().iter().filter_map(|id| profile::cable(id, layout)) {
        if all.iter().all(|known| known.id() != cable.id()) {
            all.push(cable);
        }
    }
    all
}

fn look(lit: Vec<u16>, path: PathBuf, layout: &Layout, view: View) -> Result<Seen, Failure> {
    let mut sources = inputs::sources(&inputs::files(std::slice::from_ref(&path))?)?;
    let frames: Vec<_> = sources.iter().map(|s| s.frame.clone()).collect();
    let survey = survey::survey(&frames, layout, view, None, &Settings::default())
        .map_err(|why| Failure::Survey { path, more: frames.len().saturating_sub(1), why })?;
    let (far, lights) = cores(&survey);
    Ok(Seen { source: sources.swap_remove(0).info, sight: Sight { lit, far }, lights })
}

/// How each position looks, and the figure that this rests on.
fn cores(survey: &Survey) -> (Vec<(u16, Core)>, Vec<Option<f64>>) {
    let one = |look: &Look| match look {
        Look::Found(fibre) => (fibre.core, fibre.core_light),
        Look::Missing(_) => (Core::Unknown, None),
    };
    let looks = survey.sites.iter().map(|site| (site.position, one(&site.look)));
    looks.map(|(position, (core, light))| ((position, core), light)).unzip()
}
