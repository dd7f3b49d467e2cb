// Loops over many cells in the widest registers that the machine has.
#pragma once

/// Before a function: compiled twice, for any x86-64 and for those with AVX2, and chosen when the program
/// starts. Results are the same, since no two operations are joined into one (-ffp-contract=off). Not with
/// sanitizers, which must be ready before the choice is made.
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) && defined(__gnu_linux__) && \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define SWARDLINE_WIDE __attribute__((target_clones("avx2", "default")))
#else
#define SWARDLINE_WIDE
#endif
