"""Fetching from the live services: what Wikidata and PubChem say today becomes a frozen snapshot.

`refreshing` is the whole of it; `session` talks to the services, `staging` keeps what a run
has fetched so far, `wikidata` and `pubchem` know what to ask.
"""
