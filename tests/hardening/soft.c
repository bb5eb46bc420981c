/* soft.c - all that a hardened program must not be; tests/hardening/run builds it so. */

/* Written and executed: "awx" makes one segment of both. */
__attribute__((section(".both,\"awx\",@progbits #"))) int both = 1;

int main(void)
{
    return both - 1;
}
