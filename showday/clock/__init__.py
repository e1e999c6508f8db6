"""The time of a list: how long its steps take, when it will be over, and what to leave out when it will not fit.

Pure arrays: `numpy` is imported here, so import this package where a forecast is wanted and not at start-up.
"""
