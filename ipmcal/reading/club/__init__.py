"""A club: the list of its keepers, and the messages that come back from them."""
