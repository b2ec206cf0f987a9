"""One module a page: the questions it asks, the sentences that answer them, their charts and their numbers."""
