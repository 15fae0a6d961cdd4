"""Work on a boat, pure: events folded into what was done, steps to make safe, tests judged.

No database here and no clock. Sentences are `Text`, translated where they are shown.
"""
