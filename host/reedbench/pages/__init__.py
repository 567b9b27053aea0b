"""Pages that people look at: the record for the owner, references and beats, the history of reeds, the takes, the site.

Each is one self-contained HTML page in the look of the bench sheet: nothing is fetched from anywhere, all text is
escaped, and every figure names the takes that it comes from.
"""
