//! `pitchline chain`: cables and adapters from end to end.

use crate::args::ChainArgs;
use crate::failure::Failure;
use crate::output;
use crate::profiles;
use grade::chain::{Link, follow};
use grade::lanes::SeenAt;
use grade::mated::Adapter;
use report::chain::ChainRecord;
use report::terminal;
use terms::Layout;

/// The exit status of a chain that contradicts itself.
const CONTRADICTS: u8 = 1;

/// Follows and prints; a chain that contradicts itself has a status of its own.
pub fn run(args: &ChainArgs) -> Result<u8, Failure> {
    let layout = profiles::layout(&args.layout)?;
    let links: Vec<Link> = args.members.iter().map(|m| link(m, &layout)).collect::<Result<_, _>>()?;
    let named = args.application.as_deref();
    let lanes = named.map(|name| profiles::application(name, &layout, SeenAt::Plug)).transpose()?;
    let chain = follow(&links, &layout, lanes.as_ref());
    let application = lanes.as_ref().map(|lanes| lanes.id());
    let record = ChainRecord::new(&links, &chain, &layout.id, application, env!("CARGO_PKG_VERSION"));
    output::print(&match args.json {
        true => record.to_json()?,
        false => terminal::chain(&record, output::style()),
    })?;
    Ok(if chain.contradictions.is_empty() { 0 } else { CONTRADICTS })
}

fn link(member: &str, layout: &Layout) -> Result<Link, Failure> {
    match member.split_once(':') {
        Some(("cable", name)) => profiles::cable(name, layout).map(Link::Cable),
        Some(("adapter", "type-a")) => Ok(Link::Adapter(Adapter::Opposed)),
        Some(("adapter", "type-b")) => Ok(Link::Adapter(Adapter::Aligned)),
        _ => Err(Failure::NoMember { member: member.to_owned() }),
    }
}
