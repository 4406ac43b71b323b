//! The table of losses and the traces, joined to the cables of a job. A trace that does not read is named among what
//! was not joined; the others are kept.

use crate::args::HandoverArgs;
use crate::failure::Failure;
use crate::{inputs, read};
use handover::{Job, Origin};
use links::{Known, LossTable, Mapping, Trace, join, read_table, read_trace};
use std::path::Path;

/// Most bytes of a table or a trace: one holds some hundred thousand lines, the other as many samples.
const MOST: u64 = 64 << 20;

/// Adds what was measured, with what it was taken from.
pub fn add(job: &mut Job, args: &HandoverArgs) -> Result<(), Failure> {
    let table = match (&args.losses, &args.mapping) {
        (Some(losses), Some(mapping)) => table(job, losses, mapping)?,
        _ => LossTable::default(),
    };
    let traces = args.traces.as_deref().map(|folder| traces(job, folder)).transpose()?.unwrap_or_default();
    let known: Vec<Known> = job.cables.iter().map(known).collect();
    let joined = join(&known, table, traces);
    job.unjoined.extend(joined.unjoined);
    job.cables.iter_mut().zip(joined.cables).for_each(|(cable, measured)| cable.measured = measured);
    Ok(())
}

fn known(cable: &handover::Cable) -> Known {
    let looks = cable.connectors.iter().filter_map(|c| c.last());
    let fibres = looks.flat_map(|look| look.face.positions.iter().map(|p| p.position)).collect();
    Known { identifier: cable.identifier.clone(), fibres }
}

fn bytes(job: &mut Job, path: &Path) -> Result<Vec<u8>, Failure> {
    let bytes = read::bytes(path, MOST, || Failure::LongFile { path: path.to_owned(), mib: MOST >> 20 })?;
    job.origins.push(Origin { file: name(path), sha256: inputs::hash(&bytes) });
    Ok(bytes)
}

fn name(path: &Path) -> String {
    path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned()
}

fn table(job: &mut Job, losses: &Path, mapping: &Path) -> Result<LossTable, Failure> {
    let text = String::from_utf8_lossy(&bytes(job, mapping)?).into_owned();
    let by = Mapping::parse(&text).map_err(|why| Failure::Mapping { path: mapping.to_owned(), why })?;
    let table = bytes(job, losses)?;
    read_table(&table, &by).map_err(|why| Failure::Losses { path: losses.to_owned(), why })
}

fn traces(job: &mut Job, folder: &Path) -> Result<Vec<(String, Trace)>, Failure> {
    let files = inputs::files_in(folder, "sor")?;
    if files.is_empty() {
        return Err(Failure::NoTraces { path: folder.to_owned() });
    }
    let mut found = Vec::new();
    for path in files {
        match read_trace(&bytes(job, &path)?) {
            Ok(trace) => found.push((name(&path), trace)),
            Err(why) => job.unjoined.push(format!("{}: {why}", name(&path))),
        }
    }
    Ok(found)
}
