"""Malformed inputs on purpose: generators, a server that tries them, and what counts as a finding.

`python tests/fuzz/run.py --seed N --count 10000` tries that many; tests/test_fuzz.py a few of each.
"""
