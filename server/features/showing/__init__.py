"""How the build goes, for friends and forums, as a page and a feed: no prices, addresses or names."""
