"""Help for a shop elsewhere: the page that it fills in, what comes back, the reply, and the desk that keeps them
together.
"""
