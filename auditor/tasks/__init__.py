"""What people use the auditor for beside the audit, a use case a file."""
