"""One promise for each reader of what strangers send: accepted, or the error it documents, nothing else.

Each file is a target: SEEDS, what to begin from, and `one(data)`, which fails when the promise is broken.
WORDS, where there are some, are pieces worth putting in. `test_targets.py` tries each for a moment, and
`python3 -m tests fuzz [NAME] [SECONDS]` lets coverage guide the search for as long as asked.
"""
