"""Groups: many houses taken in on Spark, and their facts read together; imported by group commands alone."""
