"""Rules of the trade: plain facts in, values and findings with their sources out.

Pure functions: no clock, no files. Each returns a small frozen result with ``findings``; where the
function answers a question, the first finding is the answer, ready to be spoken.
"""
