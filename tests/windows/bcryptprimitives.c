/* Stands in for a Windows library that Debian's Wine lacks. For the tests alone: it is never given to anybody. */
#include <windows.h>
#include <ntsecapi.h>

__declspec(dllexport) BOOL WINAPI ProcessPrng(PBYTE bytes, SIZE_T count)
{
    return RtlGenRandom(bytes, (ULONG)count);
}
