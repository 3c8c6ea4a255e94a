//! The local server of the page: who may ask, what may be asked, how it is answered and streamed.
//!
//! Everything that a question means is the business of a [`Workshop`], which `app` is; questions may take long and are put
//! to it on threads where they block nobody. Deliberately knows no pans, no oil, no design files.

mod confined;
mod events;
mod guard;
pub mod page;
pub mod question;
mod reply;
mod server;
mod shown;
mod token;
pub mod wire;
pub mod workshop;

pub use confined::confined;
pub use server::{Bound, Config, Limits, Server, Stopper};
pub use workshop::{Answer, Refused, Workshop, Wrong};
