"""The version of the rule set; a change to it stands in CHANGES.md."""

RULESET_VERSION = "2"
