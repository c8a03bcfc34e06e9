"""Reports: functions from a finished result to a string, one file a format."""
