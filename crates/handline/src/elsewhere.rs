//! The workbench for people at other computers: encrypted, and each signs in.

use crate::args::Elsewhere;
use crate::commands::Failure;
use crate::kept::Place;
use crate::serve::{brought, say, told_to_stop};
use std::net::{SocketAddr, TcpListener};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;
use web::{Served, Tls, Workbench};

/// An answer that takes longer is given up, as is a form that comes in more slowly.
const PATIENCE: Duration = Duration::from_secs(60);

/// Where people come in, and how.
pub struct Door {
    listener: TcpListener,
    address: SocketAddr,
    tls: Option<Tls>,
    served: Served,
}

/// The door that is asked for; `None` where only this computer is answered, and nobody
/// signs in.
pub fn door(asked: &Elsewhere) -> Result<Option<Door>, Failure> {
    let Some(address) = asked.address else {
        return Ok(None);
    };
    let encrypted = asked.certificate.is_some() || asked.behind_proxy;
    if !encrypted && address.ip().is_loopback() && asked.name.is_empty() {
        return Ok(None);
    }
    if !encrypted {
        return Err(Failure::Misread(format!(
            "{address} can be reached from other computers, or was given a name, and passwords would \
             go over the network for all to read. Give the certificate of this host's name with \
             --certificate FILE --key FILE, or --behind-proxy where a proxy ends the encryption. \
             Without --address the workbench answers this computer only, and needs neither"
        )));
    }
    if asked.name.is_empty() {
        return Err(Failure::Misread(
            "give the name of this host with --name, as people write it in the address and as it \
             stands in the certificate; requests for another name are refused"
                .into(),
        ));
    }
    let tls = asked.certificate.as_deref().zip(asked.key.as_deref());
    let tls = tls.map(|(certificate, key)| Tls::read(certificate, key));
    let tls = tls.transpose();
    let tls = tls.map_err(|error| Failure::Misread(error.to_string()))?;
    let listener = TcpListener::bind(address).map_err(|error| taken(address, &error))?;
    let address = listener.local_addr().unwrap_or(address);
    let names = asked.name.iter().map(|name| plain(name));
    Ok(Some(Door {
        listener,
        address,
        tls,
        served: Served {
            names: names.collect(),
            behind_proxy: asked.behind_proxy,
            patience: PATIENCE,
        },
    }))
}

/// A host's name, if an address was given for it.
fn plain(name: &str) -> String {
    let name = name.trim();
    let name = name.strip_prefix("https://").unwrap_or(name);
    let name = name.split('/').next().unwrap_or(name);
    match name.rsplit_once(':') {
        Some((host, port)) if port.bytes().all(|b| b.is_ascii_digit()) => host.into(),
        _ => name.into(),
    }
}

/// An address that cannot be had.
pub fn taken(address: SocketAddr, error: &std::io::Error) -> Failure {
    Failure::Misread(format!(
        "{address} cannot be had: {error}; stop what answers there, or give another with --address"
    ))
}

/// Answers until the process is told to stop.
pub async fn serve(
    door: Door,
    workbench: Arc<Workbench>,
    book: Option<(&[u8], &Path)>,
    place: &Place,
) -> Result<(), Failure> {
    let brought_in = match book {
        Some((bytes, file)) => brought(&workbench, bytes, file).await?.1,
        None => String::new(),
    };
    let stop = told_to_stop();
    let at = where_it_is(&door);
    let first = first_keeper(&workbench).await?;
    say(&format!(
        "{brought_in}The workbench answers at {at}\n\
         Books are kept in {place}\n\
         {first}People sign in. Stop it with Ctrl-C.\n"
    ));
    let served = web::serve_people(door.listener, door.tls, workbench, door.served, stop);
    let served = served.await;
    served.map_err(|error| Failure::Misread(format!("the workbench stopped: {error}")))
}

/// The address that people write, as far as it is known here.
fn where_it_is(door: &Door) -> String {
    let name = door.served.names.first().map_or("", String::as_str);
    let port = door.address.port();
    match door.served.behind_proxy {
        true => format!("{} for the proxy of https://{name}/", door.address),
        false if port == 443 => format!("https://{name}/"),
        false => format!("https://{name}:{port}/"),
    }
}

/// What to do while nobody can sign in.
async fn first_keeper(workbench: &Workbench) -> Result<String, Failure> {
    if workbench.records.anybody().await? {
        return Ok(String::new());
    }
    let books = workbench.records.books().await?;
    let Some(book) = books.first() else {
        return Ok(
            "There is no book yet, and nobody can sign in. Stop it, and begin with a department's \
             file: handline serve FILE and the same as before.\n"
                .into(),
        );
    };
    Ok(format!(
        "Nobody can sign in yet. Make the first keeper, on this computer and with the same --data; \
         the password is asked for:\n  \
         handline people add \"NAME\" --role keeper --department {}\n",
        book.slug
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_taken_out_of_an_address() {
        for (typed, name) in [
            ("handline.example", "handline.example"),
            (" https://handline.example:8443/ ", "handline.example"),
            ("handline.example:8443", "handline.example"),
            ("[::1]:8443", "[::1]"),
        ] {
            assert_eq!(plain(typed), name, "{typed}");
        }
    }
}
