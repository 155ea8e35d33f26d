"""What the tests start for themselves: databases, the real server, a real browser.

A part that is missing is an error with a sentence, never a skipped test.
"""
