"""What Rootbound does about it: gather, compute, decide, record, send."""
