"""Tables, figures and the restoration record: what a person looks at.

Plain data in, text or pictures out.
"""
