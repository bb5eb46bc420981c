/* pcap_loop.c - the baseline for captures: libpcap alone, packets counted. */
#include <stdio.h>

#include <pcap/pcap.h>

int main(int argc, char **argv)
{
    char reason[PCAP_ERRBUF_SIZE];
    struct pcap_pkthdr *header;
    const unsigned char *bytes;
    unsigned long count = 0;
    pcap_t *pcap = argc > 1 ? pcap_open_offline(argv[1], reason) : NULL;

    if (!pcap)
        return 2;
    while (pcap_next_ex(pcap, &header, &bytes) == 1)
        count++;
    pcap_close(pcap);
    printf("%lu\n", count);
    return 0;
}
