"""The meter itself, free of hardware: from blocks of samples to records in the journal."""
