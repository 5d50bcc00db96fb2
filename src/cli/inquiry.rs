//! What `rank` and `mode` share: reading parts, machines and the shop, all faults told at once.

use super::{Exit, World};
use crate::lang::{self, Sources};
use crate::model::{Machine, Part, Shop};
use std::collections::BTreeSet;
use std::path::PathBuf;

/// Parts, machines and the shop of an inquiry.
#[derive(Debug)]
pub(super) struct Inquiry {
    pub(super) parts: Vec<Part>,
    pub(super) machines: Vec<Machine>,
    pub(super) shop: Shop,
    /// The texts that all of it was read from.
    pub(super) sources: Sources,
}

/// Where an inquiry is read from.
#[derive(Clone, Debug, clap::Args)]
pub(super) struct From {
    /// Folder with the machine specs, or one file
    #[arg(long, value_name = "DIR", default_value = "machines")]
    pub(super) machines: PathBuf,
    /// Rates, people, standard times, and what is on each machine now [default: shop.yaml beside the machines]
    #[arg(long, value_name = "FILE")]
    pub(super) shop: Option<PathBuf>,
}

impl From {
    /// The shop file.
    pub(super) fn shop_file(&self) -> PathBuf {
        let folder = if self.machines.is_dir() {
            self.machines.as_path()
        } else {
            self.machines.parent().unwrap_or(&self.machines)
        };
        self.shop.clone().unwrap_or_else(|| folder.join("shop.yaml"))
    }
}

/// Reads everything; what is wrong with it is told, all at once.
///
/// # Errors
/// The exit where the inquiry cannot be answered.
pub(super) fn read(world: &mut World, parts: &[PathBuf], from: &From) -> Result<Inquiry, Exit> {
    let inquiry = read_any(world, parts, from)?;
    if inquiry.parts.is_empty() {
        return Err(world.unable("no part in the files given: a part spec begins with `part NAME \"title\" {`"));
    }
    Ok(inquiry)
}

/// As [`read`]; there may be no part.
///
/// # Errors
/// The exit where the inquiry cannot be answered.
pub(super) fn read_any(world: &mut World, parts: &[PathBuf], from: &From) -> Result<Inquiry, Exit> {
    let mut sources = Sources::default();
    let mut seen = BTreeSet::new();
    let mut asked = 0;
    for (i, path) in parts.iter().chain([&from.machines]).enumerate() {
        if i == parts.len() {
            asked = sources.iter().count();
        }
        for file in world.turn_files(path)? {
            // A file named twice, or by itself and by its folder, is one file.
            if !seen.insert(file.clone()) {
                continue;
            }
            let text = world.read(&file)?;
            sources.add(&file.display().to_string(), text);
        }
    }
    let shop_path = from.shop_file();
    let shop_text = world.read(&shop_path)?;
    let number = sources.add(&shop_path.display().to_string(), shop_text);
    let mut reading = lang::read(&sources);
    let (shop, found) = lang::shop::read_shop_with(number, sources.text(number).unwrap_or_default(), &reading.machines);
    // A shop has machines that this inquiry does not ask about.
    reading.diagnostics.extend(found.into_iter().filter(|d| d.code != "unknown-machine" || d.is_error()));
    world.tell(&sources, &reading.diagnostics);
    if reading.diagnostics.iter().any(lang::Diagnostic::is_error) {
        return Err(Exit::Unable);
    }
    let Some(shop) = shop else { return Err(Exit::Unable) };
    // Parts that lie beside the machines are not asked about.
    reading.parts.retain(|p| (p.place.file as usize) < asked);
    if reading.machines.is_empty() {
        return Err(world.unable(format!(
            "no machine in `{}`: write a machine spec there, or name another folder with --machines",
            from.machines.display()
        )));
    }
    Ok(Inquiry { parts: reading.parts, machines: reading.machines, shop, sources })
}
