//! The long run: when to make a round, one instance, reload, stop, autostart.
