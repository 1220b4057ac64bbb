"""Results of several shops together: whose pulls they are, what was taken for the same, what all of them say."""
