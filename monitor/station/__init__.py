"""Composition: sampler, fold, store, feed and requests; housekeeping jobs."""
