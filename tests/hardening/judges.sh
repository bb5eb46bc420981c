# Sourced by run: what an ELF file must have. Each judge takes a file and succeeds where it is so.
# src/package/hardening.cmake says what each is good for.

JUDGES="is_anywhere is_program_anywhere has_no_writable_code has_tables_read_only
    guards_returns checks_sizes finds_libraries_by_system"
# What the compiler does on this processor only.
[ "$(uname -m)" != x86_64 ] || JUDGES="$JUDGES marks_jump_targets probes_large_frames"

is_anywhere() {
    readelf -Wh "$1" | grep -q 'Type: *DYN' && ! readelf -Wd "$1" | grep -q TEXTREL
}

is_program_anywhere() {
    readelf -Wd "$1" | grep -q 'FLAGS_1.* PIE'
}

# No segment may be written and executed, the stack least of all.
has_no_writable_code() {
    readelf -Wl "$1" | grep -q 'GNU_STACK' && ! readelf -Wl "$1" | grep -q " RWE 0x"
}

has_tables_read_only() {
    readelf -Wl "$1" | grep -q GNU_RELRO && readelf -Wd "$1" | grep -qE 'BIND_NOW|FLAGS_1.* NOW'
}

guards_returns() {
    readelf -W --dyn-syms "$1" | grep -q ' __stack_chk_fail'
}

# The checking forms of functions of the C library are in use.
checks_sizes() {
    readelf -W --dyn-syms "$1" | grep -E ' __[a-z]*(printf|mem|str|read|poll)[a-z]*_chk'
}

# A search path of its own would let who writes there choose the libraries.
finds_libraries_by_system() {
    ! readelf -Wd "$1" | grep -E 'RPATH|RUNPATH'
}

# More than what the C library brings along for its own start.
marks_jump_targets() {
    [ "$(objdump -d "$1" | grep -c endbr64)" -gt 50 ]
}

# A large frame is made page by page, each touched.
probes_large_frames() {
    objdump -d "$1" | grep -qE 'sub +\$0x1000,%rsp'
}
