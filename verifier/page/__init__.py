"""The local page: the same judging as on the command line, for a browser on this machine.

Nothing is judged here: the views ask the public Python interface and show what its renderers make of the answer.
"""
