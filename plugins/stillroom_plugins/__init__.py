"""The built-in plugins: `sources` reads files, `reports` answers questions, `cautions` warns."""
