"""The documents that go to the bench: each a pure function from the plan, its facts or its report to a `Table`.

`wirecheck.outputs` prints tables as CSV and as pages; nothing here knows how.
"""
