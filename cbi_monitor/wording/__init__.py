"""Every sentence that a nurse reads, by key: ``say("alert-retention-title", ml=280)``.

Sentences live in Fluent files (``wording/en/*.ftl``, one file a room), so that they can be translated and a ward can
lay its own words over ours.
"""

from cbi_monitor.wording.catalogue import Catalogue, MissingSentence, say, use_language

__all__ = ["Catalogue", "MissingSentence", "say", "use_language"]
