//! Who sends and who receives, as bare addresses; one that is none is refused here, before any server hears of it.

use crate::post::eml::bare_address;
use crate::post::fault::{FaultKind, SetupFault};

/// The sender and the receivers of one mail.
pub(super) struct People {
    /// The sender's bare address.
    pub(super) sender: String,
    /// The receivers as given, each with its bare address, or with why it is none.
    receivers: Vec<(String, Result<String, String>)>,
}

impl People {
    /// # Errors
    /// A sender that is no address. A receiver that is none keeps the others from nothing.
    pub(super) fn of(from: &str, receivers: &[String]) -> Result<People, SetupFault> {
        let sender = bare_address("the sender's", from)
            .map_err(|failure| SetupFault::new(FaultKind::Sender, &format!("cannot {failure}")))?;
        let bare = |given: &String| {
            let bare = bare_address("a receiver's", given).map_err(|failure| format!("cannot {failure}"));
            (given.clone(), bare)
        };
        Ok(People { sender, receivers: receivers.iter().map(bare).collect() })
    }

    /// The sender's domain, by which this PC calls itself where nothing else is set: its own name is nobody's business,
    /// and many servers do not take it.
    pub(super) fn domain(&self) -> &str {
        self.sender.rsplit('@').next().unwrap_or_default()
    }

    /// The bare addresses of the receivers that have one, in order.
    pub(super) fn addresses(&self) -> impl Iterator<Item = &str> {
        self.receivers.iter().filter_map(|(_, bare)| bare.as_deref().ok())
    }

    /// The receivers as given, each with what was found for its address, or with a refusal where it has none.
    pub(super) fn with<T>(self, found: Vec<T>, refuse: impl Fn(String) -> T) -> Vec<(String, T)> {
        let mut found = found.into_iter();
        let paired = |(given, bare): (String, Result<String, String>)| match bare {
            Ok(_) => Some((given, found.next()?)),
            Err(why) => Some((given, refuse(why))),
        };
        self.receivers.into_iter().filter_map(paired).collect()
    }
}
