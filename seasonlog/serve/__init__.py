"""The app in a browser: a guarded web server that starts one process of the app for every browser session.

It knows nothing of the record; it only lets the right browser in, and carries keys to the app and the screen back.
"""
