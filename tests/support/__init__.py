"""What tests share: leftovers, stories, stores, browsers."""
