"""What every policy must say, for tests that write one of their own."""

THRESHOLDS = """\
[thresholds]
attack_time = "30 d"
airtime_advice = "25 %"
airtime_risk = "50 %"
serial_load_risk = "80 %"
rate_error_risk = "50 %"
indicator_current = "20 mA"
logic_margin = "0.3 V"
"""
